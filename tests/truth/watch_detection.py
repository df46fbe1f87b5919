"""How soon the watch tells of a rate that rises, by how often the stratum fails.

500 strata over 60 looks. Some have a steady 0.1, 0.5, 2 or 10 failures expected a look,
and from look 36 on two or three times that: one of each kind in a fleet, so that eight
strata in 500 are raised. Or they start at look 36, at two or three times what is
expected of a stratum of their kind.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from tests.truth.study import Outcome, Scene
from tests.truth.watch_fleets import (
    PLANS,
    SCENARIOS,
    WatchPlan,
    draw_exposure,
    draw_quiet,
)
from tests.truth.watch_rates import one_pass

STEP_AT = 36
RATES = (0.1, 0.5, 2.0, 10.0)
TIMES = (2, 3)
HORIZON = 24  # looks; what is found later counts as not found
N_FLEETS = 50
KINDS = [(times, rate) for times in TIMES for rate in RATES]


def found_within(times: int, rate: float, looks: int) -> str:
    return f"{times} times {rate:g} a look, found within {looks:>2} looks"


def detection_of(plan: WatchPlan, rng: np.random.Generator, *, born: bool) -> Outcome:
    of_fleet, of_draws = rng.spawn(2)
    exposure = draw_exposure(plan, of_fleet)
    change = np.ones_like(exposure)
    for stratum, (times, rate) in enumerate(KINDS):
        exposure[:, stratum] = rate
        change[STEP_AT:, stratum] = times
    if born:
        exposure[:STEP_AT, : len(KINDS)] = 0
    drawn = draw_quiet(plan, of_fleet, exposure=exposure, change=change)
    alarms = one_pass(drawn, plan, of_draws)
    after = np.full(len(KINDS), np.inf)
    for look, stratum in zip(alarms.look, alarms.stratum, strict=True):
        if stratum < len(KINDS) and look >= STEP_AT:
            after[stratum] = min(after[stratum], look - STEP_AT + 1)
    values = {
        found_within(times, rate, looks): float(after[stratum] <= looks)
        for stratum, (times, rate) in enumerate(KINDS)
        for looks in range(1, HORIZON + 1)
    }
    return Outcome(int(drawn.n_failures.sum()), values)


def scenes() -> list[Scene]:
    return list(_scenes())


def _scenes() -> Iterator[Scene]:
    wide = PLANS["500 x 60"]
    wanted = [(4, "a", False), (4, "d", False), (12, "d", False), (4, "d", True)]
    for per_year, scenario, born in wanted:
        plan = replace(wide, **SCENARIOS[scenario], per_year=per_year)
        kind = "born high" if born else "step"
        yield Scene(
            f"{kind}, {scenario}, {per_year} a year",
            "detection",
            lambda rng, plan=plan, born=born: detection_of(plan, rng, born=born),
            most_fleets=N_FLEETS,
        )
