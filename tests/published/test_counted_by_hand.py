"""Curves small enough to count: ties, late entry, a median on a step, a stopped test.

Data    Ties: the first test data set of the validation vignette of the R package
        survival. Late entry: eight units made up so that two enter at the age of a
        failure. Median: four failures, survival exactly one half from 2 to 3. Stopped
        test: the 20 units of the NIST/SEMATECH e-Handbook 8.4.1.3, 10 still working at
        500 hours.
Values  Survival and cumulative hazard are fractions counted by hand, for the ties as
        printed in that vignette. Errors and limits were calculated by R (survival
        3.5-3) and agree with lifelines, statsmodels and scikit-survival.
Read    2026-11-25.
Digits  Fractions to 1e-12, the others to 1e-9 relative: the digits kept of them.
"""

import math

import numpy as np
import pytest

from analytics.statistics.life import kaplan_meier, nelson_aalen

TIES = ([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1], [0, 1, 0, 0, 1, 0])
LATE = (
    [3, 5, 6, 7, 9, 10, 4, 12],
    [1, 1, 0, 1, 1, 0, 0, 0],
    [0, 0, 1, 0, 0, 1, 1, 1],
)
ENTERED = [0, 0, 0, 1, 2, 4, 3, 7]
HOURS = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386, 500]


def at(ages, curve, name):
    return getattr(curve, name)[np.isin(curve.age, ages)]


def test_ties_match_the_vignette():
    curve, hazard = kaplan_meier(*TIES), nelson_aalen(*TIES)

    exact = {"rel": 1e-12, "abs": 1e-12}
    assert list(at([1, 6, 9], curve, "n_at_risk")) == [6, 4, 1]
    assert at([1, 6, 9], curve, "survival") == pytest.approx(
        [5 / 6, 5 / 12, 0], **exact
    )
    assert at([1, 6, 9], hazard, "cumulative_hazard") == pytest.approx(
        [1 / 6, 2 / 3, 5 / 3], **exact
    )
    assert (curve.median(), curve.median_interval()) == (6, (1, math.inf))


def test_errors_and_limits_at_ties_match_the_library():
    curve, hazard = kaplan_meier(*TIES), nelson_aalen(*TIES)

    assert at([1, 6], curve, "standard_error") == pytest.approx(
        [0.152145154863, 0.221787769759], rel=1e-9
    )
    assert at([1, 6], curve, "low") == pytest.approx(
        [0.273122849928, 0.0559918648521], rel=1e-9
    )
    assert at([1, 6], curve, "high") == pytest.approx(
        [0.974712426691, 0.766522219551], rel=1e-9
    )
    assert at([1, 6, 9], hazard, "standard_error") == pytest.approx(
        [0.166666666667, 0.390867979985, 1.07367489389], rel=1e-9
    )


def test_units_that_enter_at_the_age_of_a_failure_are_not_yet_counted():
    curve = kaplan_meier(*LATE, entry_age=ENTERED)
    hazard = nelson_aalen(*LATE, entry_age=ENTERED)

    ages = [3, 5, 7, 9]
    assert list(at(ages, curve, "n_at_risk")) == [5, 5, 3, 3]
    assert at(ages, curve, "survival") == pytest.approx(
        [4 / 5, 16 / 25, 32 / 75, 64 / 225], rel=1e-12
    )
    assert at(ages, hazard, "cumulative_hazard") == pytest.approx(
        [1 / 5, 2 / 5, 11 / 15, 16 / 15], rel=1e-12
    )
    assert (curve.median(), curve.median_interval()) == (7, (3, math.inf))


@pytest.mark.parametrize(
    ("interval", "low", "high"),
    [
        ("plain", 0.243331179325, 1), ("log", 0.344355014481, 1),
        ("log-log", 0.167028154992, 0.894675062146),
    ],
)  # fmt: skip
def test_limits_with_late_entry_match_the_library(interval, low, high):
    curve = kaplan_meier(*LATE, entry_age=ENTERED, interval=interval)

    assert at([5], curve, "standard_error") == pytest.approx(0.202385770251, rel=1e-9)
    assert at([5], curve, "low") == pytest.approx(low, rel=1e-9)
    assert at([5], curve, "high") == pytest.approx(high, rel=1e-9)


def test_a_median_on_a_step_is_the_age_at_which_the_step_begins():
    # R answers 2.5 here, the middle of the step, and lifelines 2.
    curve = kaplan_meier([1, 2, 3, 4], [1] * 4, [0] * 4)

    assert list(curve.survival) == [0.75, 0.5, 0.25, 0]
    assert (curve.median(), curve.median_interval()) == (2, (1, math.inf))
    assert curve.low[:3] == pytest.approx(
        [0.127946917595, 0.0578470829951, 0.0089478244166], rel=1e-9
    )


def test_a_stopped_test_keeps_half_of_its_units():
    curve = kaplan_meier(HOURS, [1] * 10 + [0], [0] * 10 + [10])

    left = [1 - i / 20 for i in range(1, 11)]
    assert curve.survival == pytest.approx([*left, 0.5], rel=1e-12)
    # Without a censoring before the last failure the error is that of a proportion.
    error = [math.sqrt(share * (1 - share) / 20) for share in left]
    assert curve.standard_error[:10] == pytest.approx(error, rel=1e-12)
    assert curve.median() == 386
    assert curve.median_interval() == (244, math.inf)
    assert (curve.low[9], curve.high[9]) == pytest.approx(
        (0.271327757293, 0.691892459422), rel=1e-9
    )
    hazard = nelson_aalen(HOURS, [1] * 10 + [0], [0] * 10 + [10])
    assert hazard.cumulative_hazard[9] == pytest.approx(0.668771403175, rel=1e-9)
    assert hazard.standard_error[9] == pytest.approx(0.215396176258, rel=1e-9)
