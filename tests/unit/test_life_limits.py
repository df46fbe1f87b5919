"""Limits of a fitted life distribution: borders, shapes, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.distributions import fit_life

AGES = [100, 200, 400, 800]
N_FAILED = [3, 4, 2, 1]
N_CENSORED = [10, 0, 20, 30]
LAWS = ["weibull", "lognormal", "exponential"]
METHODS = ["wald", "likelihood"]


def fitted(distribution="weibull", **options):
    return fit_life(AGES, N_FAILED, N_CENSORED, distribution=distribution, **options)


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("method", METHODS)
def test_limits_of_fractions_have_the_shape_of_the_ages(distribution, method):
    fit = fitted(distribution)

    low, high = fit.failed_fraction_interval([[90], [365]], method=method)

    assert low.shape == high.shape == (2, 1)
    assert (low < fit.failed_fraction([[90], [365]])).all()
    assert (high > fit.failed_fraction([[90], [365]])).all()
    assert np.ndim(fit.failed_fraction_interval(90, method=method)[0]) == 0
    assert low[0, 0] == fit.failed_fraction_interval(90, method=method)[0]


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("method", METHODS)
def test_nobody_has_failed_at_age_0_and_all_have_in_the_end(distribution, method):
    low, high = fitted(distribution).failed_fraction_interval(
        [0, math.inf], method=method
    )

    assert list(low) == list(high) == [0, 1]


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("method", METHODS)
def test_limits_far_from_all_failures_stay_within_0_and_1(distribution, method):
    fit = fitted(distribution)

    low, high = fit.failed_fraction_interval([1e-200, 1e200], method=method)

    assert ((low >= 0) & (low <= high) & (high <= 1)).all()


@pytest.mark.parametrize("method", METHODS)
def test_a_higher_confidence_gives_wider_limits_of_the_fraction(method):
    wide = fitted().failed_fraction_interval(365, method=method)
    narrow = fitted(confidence=0.5).failed_fraction_interval(365, method=method)

    assert wide[0] < narrow[0] < narrow[1] < wide[1]


def test_likelihood_limits_of_an_exponential_law_solve_its_equation():
    # With r failures in the time T: 2 (r ln(mean/best) + T/mean - r) = chi-square.
    total = np.dot(AGES, np.add(N_FAILED, N_CENSORED))
    fit = fitted("exponential")

    for fraction in fit.failed_fraction_interval(365, method="likelihood"):
        mean = 365 / -math.log1p(-fraction)
        drop = 2 * (10 * math.log(mean / (total / 10)) + total / mean - 10)
        assert drop == pytest.approx(stats.chi2.ppf(0.95, 1), rel=1e-8)


def test_limits_hold_their_digits_for_ten_million_units():
    # Rounding of a log-likelihood of some 1e7 must not stop the search short.
    fit = fit_life(
        AGES, np.multiply(N_FAILED, 200_000), np.multiply(N_CENSORED, 200_000),
        distribution="weibull",
    )  # fmt: skip

    low, high = fit.failed_fraction_interval(365, method="likelihood")

    assert (low, high) == pytest.approx(fit.failed_fraction_interval(365), rel=1e-6)
    earliest, _ = fit.quantile_interval(high, method="likelihood")
    assert earliest == pytest.approx(365, rel=1e-6)


@pytest.mark.parametrize(
    ("age", "options", "message"),
    [
        (-1, {}, "ages must not be negative"),
        (math.nan, {}, "ages must not be negative"),
        (365, {"method": "exact"}, "method must be wald or likelihood, got 'exact'"),
    ],
)
def test_questions_about_fractions_that_have_no_answer_are_refused(
    age, options, message
):
    with pytest.raises(ValueError, match=message):
        fitted().failed_fraction_interval(age, **options)
