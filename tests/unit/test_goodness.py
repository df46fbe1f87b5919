"""Anderson-Darling and the fit against a band: borders and refusals."""

import math
from dataclasses import dataclass

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import fit_life
from analytics.statistics.goodness import anderson_darling, outside_band, p_value

LAWS = ["weibull", "lognormal", "exponential"]


@dataclass(frozen=True)
class FlatBand:
    age: np.ndarray
    low: np.ndarray
    high: np.ndarray
    from_age: float
    to_age: float


def fitted():
    return fit_life(
        [10, 20, 40, 80], [3, 4, 2, 1], [0, 0, 0, 9], distribution="weibull"
    )


def statistic(ages, failed):
    """Return Anderson and Darling's sum over single lives, of a fitted Weibull law."""
    fit = fit_life(ages, failed, np.zeros(len(ages)), distribution="weibull")
    shape, scale = fit.parameters.values()
    lives = np.sort(np.repeat(ages, failed))
    hazard = np.exp(shape * np.log(lives / scale))
    log_failed = np.where(hazard > 0, log1mexp(hazard), shape * np.log(lives / scale))
    n, rank = len(lives), np.arange(1, len(lives) + 1)
    return -n - (2 * rank - 1) @ (log_failed - hazard[::-1]) / n


def log1mexp(hazard):
    return np.log(-np.expm1(-np.maximum(hazard, 5e-324)))


@pytest.mark.parametrize(
    ("ages", "failed"),
    [
        ([2, 5], [11_000, 1]),  # the last life is beyond any hope
        ([2e-5, 5e-5], [110_000, 2]),
        ([3, 4, 5], [1, 100_000, 1]),  # the first far before any chance
        ([1e7, 7e7], [1, 100_000]),
    ],
)
def test_lives_beyond_all_chance_under_the_law_have_a_distance(ages, failed):
    test = anderson_darling(ages, failed, distribution="weibull")

    assert test.statistic == pytest.approx(statistic(ages, failed), rel=1e-6)
    assert test.p_value < 1e-9


@pytest.mark.parametrize("distribution", LAWS)
def test_a_law_far_from_the_lives_is_told(distribution):
    # Half fail around day 10, half around day 1000: no law of one hump.
    ages = [9, 10, 11, 990, 1000, 1010]

    test = anderson_darling(ages, [20] * 6, distribution=distribution)

    assert test.statistic > 5
    assert test.p_value < 0.001
    assert test.n_failed == 120


@pytest.mark.parametrize("distribution", LAWS)
def test_p_values_fall_from_1_as_the_statistic_grows(distribution):
    statistics = np.concatenate([np.linspace(0.01, 3, 600), [10, 100, 1e6]])

    p = [p_value(a, 30, distribution) for a in statistics]

    # The pieces of the formulas meet within 0.002.
    assert (np.diff(p) <= 2e-3).all()
    assert p[0] > 0.999
    assert 0 < p[-1] < 1e-6


@pytest.mark.parametrize("distribution", LAWS)
def test_few_failures_have_a_statistic_and_no_p_value(distribution):
    four = anderson_darling([1, 2, 3, 4], [1] * 4, distribution=distribution)
    five = anderson_darling([1, 2, 3, 4, 5], [1] * 5, distribution=distribution)

    assert four.statistic > 0
    assert math.isnan(four.p_value)
    assert 0 < five.p_value <= 1


@pytest.mark.parametrize(
    ("age", "n_failed", "found"),
    [([], [], 0), ([5], [9], 1), ([5, 5], [1, 1], 1), ([5, 9], [3, 0], 1)],
)
def test_fewer_than_two_ages_cannot_be_tested(age, n_failed, found):
    with pytest.raises(InsufficientDataError) as raised:
        anderson_darling(age, n_failed, distribution="lognormal")

    assert (raised.value.needed, raised.value.found) == (2, found)


@pytest.mark.parametrize(
    ("arguments", "distribution", "message"),
    [
        (([0, 1], [1, 1]), "weibull", "age 0 has no logarithm"),
        (([1, 2], [1, -1]), "weibull", "n_failed must be whole and not negative"),
        (([1, 2], [1]), "weibull", "n_failed must have shape"),
        (([1, 2], [1, 1]), "gamma", "distribution must be weibull"),
    ],
)
def test_failures_that_cannot_be_tested_are_refused(arguments, distribution, message):
    with pytest.raises(ValueError, match=message):
        anderson_darling(*arguments, distribution=distribution)


def test_a_p_value_of_an_unknown_law_is_refused():
    with pytest.raises(ValueError, match="distribution must be weibull"):
        p_value(1, 10, "gamma")


def test_ages_where_the_fit_leaves_the_band_are_named_with_their_side():
    fit = fitted()
    ages = np.array([10.0, 20, 40, 80])
    survival = fit.survival(ages)
    shift = np.array([0, -0.1, 0.1, 0])

    band = FlatBand(ages, survival + shift - 0.05, survival + shift + 0.05, 10, 80)
    outside = outside_band(fit, band)

    assert list(outside.age) == [20, 40]
    assert list(outside.is_above) == [True, False]


def test_a_fit_inside_the_band_is_not_contradicted():
    fit = fitted()
    ages = np.array([10.0, 20, 40, 80])

    band = FlatBand(ages, fit.survival(ages), fit.survival(ages), 10, 80)

    assert len(outside_band(fit, band).age) == 0


def test_limits_outside_the_range_of_the_band_or_undefined_say_nothing():
    fit = fitted()
    ages = np.array([10.0, 20, 40, 80])
    low = np.array([0.999, 0.999, np.nan, 0.999])

    outside = outside_band(fit, FlatBand(ages, low, low + 1e-4, 20, 40))

    assert list(outside.age) == [20]
    assert not outside.is_above[0]
