"""How often 95 % intervals hold the truth, and how often 5 % tests reject it.

What theory promises is set before anything is run. A curve at an age: where 40 failures
are expected by that age and 40 units at risk at it. Wald limits of a law, from 150
failures on, and so the band and the mean life; likelihood-ratio limits, from 45. Exact
limits of a count: always, and at least the stated rate. Tests: from 100 failures on.
Nothing is promised where reports are late and the end of observation was not brought
back.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
from scipy import stats

from tests.truth.curve_methods import (
    MEAN,
    RANGES,
    CurveTruth,
    band_values,
    curve_values,
    hazard_names,
    hazard_values,
    mean_values,
)
from tests.truth.fleets import Plan, draw, draw_groups, draw_modes, draw_visited
from tests.truth.law_methods import WAYS, LawTruth, law_values
from tests.truth.mode_methods import (
    assumed_shape_values,
    gray_values,
    incidence_names,
    incidence_values,
    incidences,
    log_rank_values,
    only_mode,
    visited_errors,
    without_names,
    without_values,
)
from tests.truth.study import (
    COVERS,
    COVERS_AT_LEAST,
    REJECTS,
    UNBIASED,
    Outcome,
    Promise,
    Scene,
    Study,
)

ENOUGH = {"curve": 40, "whole curve": 150, "wald": 150, "likelihood": 45}
SLOW = ("likelihood",)  # asked for the main quantities, but where told otherwise
WEIBULL = stats.weibull_min(1.5, scale=1000)
EARLY = stats.weibull_min(0.7, scale=5000)
MODES = [stats.weibull_min(0.8, scale=4000), stats.weibull_min(3, scale=1100)]
SHORT = stats.weibull_min(1.5, scale=20)  # whole days are coarse here
RARE = stats.weibull_min(1.5, scale=20_000)


def law_promises(plan: Plan, truth: LawTruth) -> dict[str, Promise]:
    n_failed, _ = plan.expected(np.inf)
    return {
        name: COVERS
        for method in WAYS
        if n_failed >= ENOUGH[method]
        for name in truth.names(method)
    }


def curve_promises(plan: Plan, curve: CurveTruth) -> dict[str, Promise]:
    at_ages = {
        name: COVERS
        for name, age in curve.ages().items()
        if min(plan.expected(age)) >= ENOUGH["curve"]
    }
    n_failed, _ = plan.expected(np.inf)
    if n_failed >= ENOUGH["whole curve"]:
        at_ages[MEAN] = COVERS
    return at_ages | dict.fromkeys(hazard_names(), COVERS_AT_LEAST)


def life_scene(name: str, plan: Plan, *, whole: bool = False) -> Scene:
    """Return a scene; `whole`: with every limit by the likelihood (slow)."""
    curve = CurveTruth.of(plan.law)
    law = LawTruth.of(plan.law, main_only=() if whole else SLOW)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw(plan, rng)
        values = curve_values(drawn, curve)
        values |= mean_values(drawn, curve) | hazard_values(drawn, curve)
        return Outcome(drawn.total_failed, values | law_values(drawn, law))

    promised = {}
    if plan.delay != "uncorrected":
        promised = curve_promises(plan, curve) | law_promises(plan, law)
    return Scene(name, "curves and Weibull law", fleet, promised)


def band_scene(name: str, plan: Plan) -> Scene:
    truth = CurveTruth.of(plan.law)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw(plan, rng)
        return Outcome(drawn.total_failed, band_values(drawn, truth))

    n_failed, _ = plan.expected(np.inf)
    names = RANGES if n_failed >= ENOUGH["whole curve"] else ()
    return Scene(name, "bands", fleet, dict.fromkeys(names, COVERS))


def law_scene(
    name: str, plan: Plan, *, visited: bool = False, promised: bool = True
) -> Scene:
    is_alike = plan.law.dist.name == "expon"  # one parameter: all hold or none
    truth = LawTruth.of(plan.law, main_only=SLOW if visited or is_alike else ())

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_visited(plan, rng) if visited else draw(plan, rng)
        return Outcome(drawn.total_failed, law_values(drawn, truth))

    promises = law_promises(plan, truth) if promised else {}
    return Scene(name, "laws", fleet, promises)


def modes_scene(name: str, n_units: int, *, promised: bool) -> Scene:
    truth = incidences(MODES)
    laws = [LawTruth.of(law, main_only=tuple(WAYS)) for law in MODES]

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_modes(MODES, n_units, rng)
        values = incidence_values(drawn, truth) | without_values(drawn, MODES[0])
        for mode, law in enumerate(laws):
            found = law_values(only_mode(drawn, mode), law)
            values |= {f"mode {mode + 1} alone, {k}": held for k, held in found.items()}
        return Outcome(drawn.total_failed, values)

    methods = [
        *incidence_names(len(MODES)),
        *without_names(),
        *(
            f"mode {mode + 1} alone, {law_name}"
            for mode, law in enumerate(laws)
            for method in WAYS
            for law_name in law.names(method)
        ),
    ]
    return Scene(
        name, "modes", fleet, dict.fromkeys(methods if promised else (), COVERS)
    )


def level_scene(name: str, strata: list[list[Plan]], promised: str) -> Scene:
    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = [draw_groups(plans, rng) for plans in strata]
        return Outcome(sum(d.total_failed for d in drawn), log_rank_values(drawn))

    return Scene(name, "tests", fleet, {promised: REJECTS})


def gray_scene(name: str, plans: list[Plan], other: Any) -> Scene:
    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_groups(plans, rng, other=other)
        return Outcome(drawn.total_failed, gray_values(drawn))

    return Scene(name, "tests", fleet, {"Gray": REJECTS})


def few_scene(name: str, n_units: int, *, late_share: float = 0) -> Scene:
    plan = Plan(RARE, n_units, late_share=late_share)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw(plan, rng)
        return Outcome(drawn.total_failed, assumed_shape_values(drawn, plan.law))

    methods = ("scale, shape known", "age of 1 % failed, shape 1 to 3")
    return Scene(name, "shape assumed", fleet, dict.fromkeys(methods, COVERS_AT_LEAST))


def visited_scene(name: str, plan: Plan) -> Scene:
    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_visited(plan, rng)
        return Outcome(drawn.total_failed, visited_errors(drawn, plan.law))

    promised = {f"error of Turnbull at {age} days": UNBIASED for age in (365, 700)}
    return Scene(name, "mean error of the failed fraction", fleet, promised, 2000)


def _life_scenes() -> list[Scene]:
    return [
        life_scene("10 failures", Plan(WEIBULL, 30), whole=True),
        life_scene("20 failures", Plan(WEIBULL, 60), whole=True),
        life_scene("50 failures", Plan(WEIBULL, 150), whole=True),
        life_scene("200 failures", Plan(WEIBULL, 600), whole=True),
        life_scene("registered late", Plan(WEIBULL, 800, late_share=0.4), whole=True),
        life_scene(
            "24-month term", Plan(stats.weibull_min(1.2, scale=3000), 2000, term=730)
        ),
        life_scene("late reports", Plan(WEIBULL, 650, delay="corrected")),
        life_scene("end not brought back", Plan(WEIBULL, 600, delay="uncorrected")),
        life_scene("early failures", Plan(EARLY, 1000)),
        life_scene("early, to the hour", Plan(EARLY, 1000, whole_days=False)),
        life_scene("wear-out", Plan(stats.weibull_min(3, scale=1200), 1200)),
    ]


def _law_scenes() -> list[Scene]:
    short = Plan(SHORT, 600, sold_over=33)
    lognormal, exponential = stats.lognorm(0.9, scale=800), stats.expon(scale=1000)
    return [
        law_scene("Weibull, visits", Plan(WEIBULL, 700), visited=True),
        law_scene("20 days", short, promised=False),
        law_scene("20 days, to the hour", replace(short, whole_days=False)),
        law_scene("lognormal, 10", Plan(lognormal, 32)),
        law_scene("lognormal, 50", Plan(lognormal, 160)),
        law_scene("lognormal, 200", Plan(lognormal, 640)),
        law_scene("exponential, 5", Plan(exponential, 13)),
        law_scene("exponential, 20", Plan(exponential, 51)),
        law_scene("exponential, 200", Plan(exponential, 510)),
    ]


def _other_scenes() -> list[Scene]:
    # Groups that fail alike, of unlike size and age.
    small, large = Plan(WEIBULL, 200, sold_over=700), Plan(WEIBULL, 450)
    late = Plan(WEIBULL, 250, late_share=0.5)
    early_small, early_large = Plan(EARLY, 600), Plan(EARLY, 200)
    return [
        modes_scene("2 modes, 20 failures", 60, promised=False),
        modes_scene("2 modes, 350 failures", 1100, promised=True),
        level_scene("2 groups", [[small, large]], "log-rank"),
        level_scene("2 groups, late entry", [[late, large]], "log-rank"),
        level_scene(
            "2 strata",
            [[small, large], [early_small, early_large]],
            "log-rank, stratified",
        ),
        gray_scene("2 modes, 2 groups", [small, large], MODES[1]),
        gray_scene("2 modes, late entry", [late, large], MODES[1]),
        band_scene("band, 20", Plan(WEIBULL, 60)),
        band_scene("band, 200", Plan(WEIBULL, 600)),
        band_scene("band, late entry", Plan(WEIBULL, 800, late_share=0.4)),
        few_scene("0.5 expected", 100),
        few_scene("1 expected", 200),
        few_scene("3.2 expected", 630),
        few_scene("5 expected", 1000),
        few_scene("5, late entry", 1200, late_share=0.4),
        visited_scene("visits every 90 days", Plan(WEIBULL, 200)),
    ]


@cache
def scenes() -> Sequence[Scene]:
    return (*_life_scenes(), *_law_scenes(), *_other_scenes())


STUDY = Study("coverage", "95 % intervals and 5 % tests of time to failure", scenes)
