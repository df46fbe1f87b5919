"""How often 95 % intervals hold the truth, and how often 5 % tests reject it.

What theory promises is set before anything is run. A curve at an age: where 40 failures
are expected by that age and 40 units at risk at it. Wald limits of a law, from 150
failures on, and so the band and the mean life; likelihood-ratio limits, from 45. Exact
limits of a count: always, and at least the stated rate. Tests: from 100 failures on.
Nothing is promised where reports are late and the end of observation was not brought
back.
"""

from collections.abc import Sequence
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
    visited_errors,
)
from tests.truth.study import (
    COVERS,
    COVERS_AT_LEAST,
    REJECTS,
    Outcome,
    Promise,
    Scene,
    Study,
)

ENOUGH = {"curve": 40, "whole curve": 150, "wald": 150, "likelihood": 45}
WEIBULL = stats.weibull_min(1.5, scale=1000)
EARLY = stats.weibull_min(0.7, scale=5000)
MODES = [stats.weibull_min(0.8, scale=4000), stats.weibull_min(3, scale=1100)]
RARE = stats.weibull_min(1.5, scale=20_000)


def law_promises(plan: Plan, truth: LawTruth) -> dict[str, Promise]:
    n_failed, _ = plan.expected(np.inf)
    return {
        name: COVERS
        for method in WAYS
        if n_failed >= ENOUGH[method]
        for name in truth.names(method)
    }


def curve_promises(plan: Plan, curve: CurveTruth, *, whole: bool) -> dict[str, Promise]:
    at_ages = {
        name: COVERS
        for name, age in curve.ages().items()
        if min(plan.expected(age)) >= ENOUGH["curve"]
    }
    n_failed, _ = plan.expected(np.inf)
    if n_failed >= ENOUGH["whole curve"]:
        at_ages |= dict.fromkeys([MEAN, *(RANGES if whole else ())], COVERS)
    return at_ages | dict.fromkeys(hazard_names(), COVERS_AT_LEAST)


def life_scene(name: str, plan: Plan, *, whole: bool = False) -> Scene:
    """Return a scene; `whole`: with bands and every limit by the likelihood (slow)."""
    curve, law = CurveTruth.of(plan.law), LawTruth.of(plan.law, is_short=not whole)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw(plan, rng)
        values = curve_values(drawn, curve)
        if whole:
            values |= band_values(drawn, curve)
        values |= mean_values(drawn, curve) | hazard_values(drawn, curve)
        return Outcome(drawn.total_failed, values | law_values(drawn, law))

    promised = {}
    if plan.delay != "uncorrected":
        promised = curve_promises(plan, curve, whole=whole) | law_promises(plan, law)
    return Scene(name, "curves and Weibull law", fleet, promised)


def law_scene(name: str, plan: Plan, *, visited: bool = False) -> Scene:
    is_short = visited or plan.law.dist.name == "expon"  # one parameter: all alike
    truth = LawTruth.of(plan.law, is_short=is_short)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_visited(plan, rng) if visited else draw(plan, rng)
        return Outcome(drawn.total_failed, law_values(drawn, truth))

    return Scene(name, "laws", fleet, law_promises(plan, truth))


def modes_scene(name: str, n_units: int, *, promised: bool) -> Scene:
    truth = incidences(MODES)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_modes(MODES, n_units, rng)
        return Outcome(drawn.total_failed, incidence_values(drawn, truth))

    methods = incidence_names(len(MODES)) if promised else []
    return Scene(name, "modes", fleet, dict.fromkeys(methods, COVERS))


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


def few_scene(name: str, n_units: int) -> Scene:
    plan = Plan(RARE, n_units)

    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw(plan, rng)
        return Outcome(drawn.total_failed, assumed_shape_values(drawn, plan.law))

    methods = ("scale, shape known", "age of 1 % failed, shape 1 to 3")
    return Scene(name, "shape assumed", fleet, dict.fromkeys(methods, COVERS_AT_LEAST))


def visited_scene(name: str, plan: Plan) -> Scene:
    def fleet(rng: np.random.Generator) -> Outcome:
        drawn = draw_visited(plan, rng)
        return Outcome(drawn.total_failed, visited_errors(drawn, plan.law))

    return Scene(name, "mean error of the failed fraction", fleet, most_fleets=2000)


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
    lognormal, exponential = stats.lognorm(0.9, scale=800), stats.expon(scale=1000)
    return [
        law_scene("Weibull, visits", Plan(WEIBULL, 700), visited=True),
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
        modes_scene("2 modes, 20 failures", 55, promised=False),
        modes_scene("2 modes, 200 failures", 550, promised=True),
        level_scene("2 groups", [[small, large]], "log-rank"),
        level_scene("2 groups, late entry", [[late, large]], "log-rank"),
        level_scene(
            "2 strata",
            [[small, large], [early_small, early_large]],
            "log-rank, stratified",
        ),
        gray_scene("2 modes, 2 groups", [small, large], MODES[1]),
        gray_scene("2 modes, late entry", [late, large], MODES[1]),
        few_scene("0.5 expected", 100),
        few_scene("1 expected", 200),
        few_scene("3.2 expected", 630),
        few_scene("5 expected", 1000),
        visited_scene("visits every 90 days", Plan(WEIBULL, 200)),
    ]


@cache
def scenes() -> Sequence[Scene]:
    return (*_life_scenes(), *_law_scenes(), *_other_scenes())


STUDY = Study("coverage", "95 % intervals and 5 % tests of time to failure", scenes)
