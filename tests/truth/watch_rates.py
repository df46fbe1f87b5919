"""False alarms of the watch, realised over stated, where nothing ever changes.

One pass: fitted, calibrated and watched over the whole history at once. Look by look:
100 strata, and from the second year on all is done anew at each look, as each publish
does it, on what was known then; the alarms of earlier looks stand.
"""

from typing import Any

import numpy as np

from analytics.statistics.quiet_fleet import fit_quiet_fleet
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_threshold import calibrate
from tests.truth.study import Outcome, Promise, Scene
from tests.truth.watch_fleets import (
    SCENARIOS,
    YEAR,
    Drawn,
    WatchPlan,
    draw_quiet,
    plan_of,
)

RATIO = "false alarms, realised / stated"
AS_STATED = Promise(0.9, 1.1, is_rate=False)
ONE_PASS, LOOK_BY_LOOK, KNOWN_MISSES = "one pass", "look by look", "known misses"
# Fleets of a scene in the long study, by size.
N_FLEETS = {
    "8 x 24": 200,
    "50 x 24": 200,
    "50 x 24 thin": 200,
    "500 x 60": 100,
    "500 x 60 thin": 40,
    "5000 x 156": 12,
}
FEWER = {
    **dict.fromkeys(("500 x 60, b", "500 x 60, c1", "500 x 60, c2"), 60),
    "500 x 60, b, own shocks": 60,
    **dict.fromkeys(("500 x 60, b, drift", "500 x 60, d, drift"), 40),
}
LETTERS = ("a", "b", "c1", "c2", "d", "e")
N_BY_LOOK = 80
BY_LOOK_PLAN = WatchPlan(100, 3 * YEAR, 0.02, 20, 4)


def one_pass(drawn: Drawn, plan: WatchPlan, rng: np.random.Generator) -> Any:
    """Return the alarms of a fleet, all looks calibrated and watched at once."""
    expected = drawn.n_expected()
    fit = fit_quiet_fleet(drawn.n_failures, expected)
    found = calibrate(
        expected,
        fit,
        per_year=plan.per_year,
        rng=rng,
        rebuild=drawn.rebuilder(),
    )
    return watch(drawn.n_failures, expected, fit, found.threshold)


def rates_of(plan: WatchPlan, rng: np.random.Generator) -> Outcome:
    of_fleet, of_draws = rng.spawn(2)  # whatever the watch draws, fleets stay the same
    drawn = draw_quiet(plan, of_fleet)
    n_alarms = len(one_pass(drawn, plan, of_draws).look)
    stated = plan.per_year * plan.n_looks / YEAR
    return Outcome(int(drawn.n_failures.sum()), {RATIO: n_alarms / stated})


def by_look(drawn: Drawn, plan: WatchPlan, rng: np.random.Generator) -> np.ndarray:
    """Return how many alarms each look raises, (T,), the first year none."""
    known: list[tuple[int, int]] = []
    for look in range(YEAR, plan.n_looks):
        counts = drawn.n_failures[: look + 1]
        expected = drawn.n_expected(look + 1)
        fit = fit_quiet_fleet(counts, expected)
        found = calibrate(
            expected,
            fit,
            per_year=plan.per_year,
            rng=rng,
            first_live=YEAR,
            rebuild=drawn.rebuilder(),
        )
        seen = watch(
            counts,
            expected,
            fit,
            found.threshold,
            first_live=YEAR,
            live_from=look,
            known=known,
        )
        known += [
            (int(when), int(where))
            for when, where, is_known in zip(
                seen.look, seen.stratum, seen.is_known, strict=True
            )
            if not is_known
        ]
    return np.bincount([when for when, _ in known], minlength=plan.n_looks)


def by_look_of(plan: WatchPlan, rng: np.random.Generator) -> Outcome:
    of_fleet, of_draws = rng.spawn(2)
    drawn = draw_quiet(plan, of_fleet)
    n_alarms = by_look(drawn, plan, of_draws)
    in_years = {
        f"{RATIO}, year {first // YEAR + 1}": n_alarms[first : first + YEAR].sum()
        / plan.per_year
        for first in range(YEAR, plan.n_looks, YEAR)
    }
    n_live = plan.n_looks - YEAR
    both = n_alarms.sum() / (plan.per_year * n_live / YEAR)
    return Outcome(int(drawn.n_failures.sum()), {RATIO: both, **in_years})


def scenes() -> list[Scene]:
    wanted = [
        (size, letter)
        for size in ("50 x 24", "50 x 24 thin", "500 x 60", "500 x 60 thin")
        for letter in LETTERS
    ]
    wanted += [("5000 x 156", letter) for letter in ("a", "b", "d", "e")]
    wanted += [("500 x 60", f"{letter}, own shocks") for letter in "bd"]
    wanted += [("500 x 60", f"{letter}, drift") for letter in "bd"]
    few = [("8 x 24", letter) for letter in "abde"]
    return [
        *(_scene(size, scenario, ONE_PASS, AS_STATED) for size, scenario in wanted),
        *(_by_look_scene(letter) for letter in "bde"),
        *(_scene(size, scenario, KNOWN_MISSES, None) for size, scenario in few),
    ]


def _scene(size: str, scenario: str, family: str, promise: Promise | None) -> Scene:
    plan = plan_of(size, scenario)
    promised = {} if promise is None else {RATIO: promise}
    name = f"{size}, {scenario}"
    n_fleets = FEWER.get(name, N_FLEETS[size])
    return Scene(name, family, lambda rng: rates_of(plan, rng), promised, n_fleets)


def _by_look_scene(scenario: str) -> Scene:
    values = {name: getattr(BY_LOOK_PLAN, name) for name in BY_LOOK_PLAN.__slots__}
    plan = WatchPlan(**(values | SCENARIOS[scenario]))
    return Scene(
        f"look by look, {scenario}",
        LOOK_BY_LOOK,
        lambda rng: by_look_of(plan, rng),
        {RATIO: AS_STATED},
        N_BY_LOOK,
    )
