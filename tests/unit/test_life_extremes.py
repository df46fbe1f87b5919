"""Fits of lives far from the usual: nearly all fail at one age, none seen working.

The Weibull scores are those of any textbook (from memory): the shape b solves
sum(n t^b ln t) / sum(n t^b) - 1 / b = mean of ln t over failures, and scale^b is
sum(n t^b) over the number of failures, n counting units that failed or still work.
"""

import numpy as np
import pytest
from scipy import optimize, stats

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import fit_life, weibull_assumed_shape
from analytics.statistics.life import kaplan_meier

LAWS = ["weibull", "lognormal", "exponential"]
NEARLY_AT_ONCE = [  # in rows that repeat an age, as counts by month would
    ([6, 9, 10, 10, 6], [10**5, 0, 0, 1, 10**7], [0, 1000, 1, 0, 0]),
    ([10, 9, 6, 3, 11, 6], [0, 1, 10**7, 1, 0, 10**5], [10**5, 0, 0, 0, 10, 0]),
    ([7, 8, 6, 7], [10**6, 1000, 0, 10**6], [0, 0, 1000, 0]),
    ([1, 4, 4, 9, 4], [10, 10**4, 1000, 0, 10**7], [0, 0, 0, 10, 0]),
    ([10, 3, 11, 3, 4, 3], [10, 10**7, 1000, 10, 1000, 10**7], [0] * 6),
]


def solved(age, n_failed, n_censored):
    """Return shape and scale of the score equations."""
    y, d = np.log(age), np.array(n_failed)
    units, longest, mean = d + n_censored, y.max(), d @ y / d.sum()

    def score(shape):
        weight = units * np.exp(shape * (y - longest))
        return weight @ y / weight.sum() - 1 / shape - mean

    shape = optimize.brentq(score, 1e-3, 1e7, xtol=1e-12, rtol=1e-14)
    total = units @ np.exp(shape * (y - longest)) / d.sum()
    return shape, np.exp(longest + np.log(total) / shape)


@pytest.mark.parametrize("lives", NEARLY_AT_ONCE)
@pytest.mark.parametrize("unit", [1, 1e-6, 1e6])
def test_millions_that_fail_at_one_age_and_a_few_elsewhere_have_a_law(lives, unit):
    age, failed, censored = lives

    fit = fit_life(np.multiply(age, unit), failed, censored, distribution="weibull")

    shape, scale = solved(*lives)
    assert fit.parameters["shape"] == pytest.approx(shape, rel=1e-8)
    assert fit.parameters["scale"] == pytest.approx(scale * unit, rel=1e-8)


def test_a_lognormal_law_of_nearly_equal_lives_lies_on_top_of_its_likelihood():
    age, failed, censored = NEARLY_AT_ONCE[0]

    fit = fit_life(age, failed, censored, distribution="lognormal")

    def value(mu, sigma):
        law = stats.lognorm(sigma, scale=np.exp(mu))
        return failed @ law.logpdf(age) + censored @ law.logsf(age)

    mu, sigma = fit.parameters.values()
    assert value(mu, sigma) == pytest.approx(fit.log_likelihood, rel=1e-9)
    for move in fit.covariance / np.sqrt(np.diag(fit.covariance)) / 10:
        # A tenth of a standard error away, twice the log-likelihood falls by 0.01.
        for mu_by, sigma_by in (move, -move):
            there = value(mu + mu_by, sigma + sigma_by)
            assert 2 * (value(mu, sigma) - there) == pytest.approx(0.01, rel=0.01)


def test_a_bracket_that_all_but_surely_holds_its_failure_changes_no_steep_law():
    lives = [2, 4, 5, 6, 7], [1, 0, 0, 1, 10**6], [0, 2 * 10**6, 10**6, 1, 0]

    fit = fit_life(*lives, distribution="weibull", lower=[6], upper=[15])

    assert fit.parameters["shape"] == pytest.approx(solved(*lives)[0], rel=1e-6)


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize("seed", range(5))
def test_units_that_all_fail_as_they_come_into_view_tell_of_no_time(distribution, seed):
    rng = np.random.default_rng(seed)
    age = 100 * rng.random(9)
    lives = age, np.arange(9) < 5, np.arange(9) >= 5

    with pytest.raises(InsufficientDataError, match="units known to have worked") as no:
        fit_life(*lives, distribution=distribution, entry_age=rng.permutation(age))
    with pytest.raises(InsufficientDataError, match="units seen above age 0"):
        weibull_assumed_shape(*lives, shape=1.7, entry_age=rng.permutation(age))

    assert (no.value.needed, no.value.found) == (1, 0)


def test_a_law_that_delayed_entry_leaves_open_is_refused_without_a_warning():
    with pytest.raises(InsufficientDataError, match="no maximum"):
        fit_life(
            [6], [10**6], [0], distribution="weibull", entry_age=[6],
            n_entered=[10**6], lower=[0], upper=[3], n_interval=[2],
        )  # fmt: skip


def test_a_median_below_the_smallest_number_has_limits_of_its_logarithm():
    age = [5, 5, 4, 4, 3, 1, 5, 1]
    fit = fit_life(
        age, [0, 0, 0, 1, 0, 10**6, 0, 0], [1, 1, 1, 0, 1, 0, 10**6, 1],
        distribution="lognormal", entry_age=[5, 5, 1.25, 3.5, 0.25, 0.75, 1, 0],
        n_entered=[1, 1, 1, 1, 1, 10**6, 10**6, 1],
    )  # fmt: skip

    low, high = fit.parameter_interval("mu", method="likelihood")
    assert fit.parameters["mu"] < np.log(5e-324)
    assert low <= fit.parameters["mu"] <= high
    assert high > fit.parameters["mu"]


@pytest.mark.parametrize("count", [1e30, 2.0**53 + 2])
def test_counts_too_large_to_be_whole_are_refused(count):
    with pytest.raises(ValueError, match=r"n_censored must not exceed 2\^53, got"):
        kaplan_meier([1, 2], [1, 0], [0, count])
