"""Limits of a fitted life distribution: borders, shapes, refusals."""

import math

import numpy as np
import pytest
from scipy import optimize, stats

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


def truncated_drop(fit, lives, entries, mu, sigma):
    """Return twice the drop in log-likelihood from the fit, by SciPy."""
    (ages, failed, censored), (entry, entered) = lives, entries
    law = stats.norm(mu, sigma)  # of the logarithm of age
    value = failed @ (law.logpdf(np.log(ages)) - np.log(ages))
    value += censored @ law.logsf(np.log(ages)) - entered @ law.logsf(np.log(entry))
    return 2 * (fit.log_likelihood - value)


def test_delayed_entry_may_leave_a_limit_that_the_likelihood_never_reaches():
    # Few units, seen late: a hazard that falls as 1 / age, the end of ever larger
    # sigmas, is not much less likely than the best law.
    lives = np.array(
        [
            [1274, 1022, 540, 616, 82, 151, 34],
            [1, 3, 1, 2, 1, 1, 2],
            [3, 3, 2, 2, 4, 1, 4],
        ]
    )
    entries = np.array([344, 389, 14, 69, 49, 88, 19]), lives[1] + lives[2]
    fit = fit_life(
        *lives, distribution="lognormal", entry_age=entries[0], n_entered=entries[1]
    )

    low, high = fit.parameter_interval("sigma", method="likelihood")

    assert 0 < low < fit.parameters["sigma"]
    assert high == math.inf
    drops = [
        optimize.minimize_scalar(
            lambda mu, sigma=sigma: truncated_drop(fit, lives, entries, mu, sigma),
            bounds=(-200 * sigma, 20), method="bounded", options={"xatol": 1e-6},
        ).fun
        for sigma in (60, 120, 240)
    ]  # fmt: skip
    assert drops[0] < drops[1] < drops[2] < drops[1] + 0.01 < 2.7
    assert fit.failed_fraction_interval(30, method="likelihood")[1] == 1


def test_a_limit_is_found_where_laws_of_another_kind_become_the_likeliest():
    # Late entries again: towards the limit the likeliest law with the fraction jumps
    # from one sigma to another far from it.
    lives = np.array([[1662, 1307, 722], [1, 3, 1], [1720, 676, 1282]])
    entries = np.array([699, 673, 485]), lives[1] + lives[2]
    fit = fit_life(
        *lives, distribution="lognormal", entry_age=entries[0], n_entered=entries[1]
    )

    _, high = fit.failed_fraction_interval(30, method="likelihood")

    sigmas = np.geomspace(0.2, 200, 4001)
    mus = math.log(30) - stats.norm.ppf(high) * sigmas
    drops = [
        truncated_drop(fit, lives, entries, mu, sigma)
        for mu, sigma in zip(mus, sigmas, strict=True)
    ]
    assert min(drops) == pytest.approx(stats.chi2.ppf(0.95, 1), abs=1e-4)


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
