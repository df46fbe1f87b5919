"""What holds for the Anderson-Darling test, on simulated and on drawn lives."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special

from analytics.statistics.goodness import anderson_darling, p_value

FEW = settings(max_examples=30, deadline=None)
LAWS = ["weibull", "lognormal", "exponential"]
N_SAMPLES = 20_000


def lives():
    ages = st.lists(st.integers(1, 5000), min_size=6, max_size=40)
    return ages.filter(lambda drawn: len(set(drawn)) > 3)


@FEW
@given(lives(), st.sampled_from(LAWS), st.floats(1e-3, 1e3))
def test_the_unit_of_age_changes_nothing(ages, distribution, factor):
    ages = np.array(ages, float)

    one = anderson_darling(ages, np.ones(len(ages)), distribution=distribution)
    other = anderson_darling(
        ages * factor, np.ones(len(ages)), distribution=distribution
    )

    assert other.statistic == pytest.approx(one.statistic, rel=1e-6)
    assert other.p_value == pytest.approx(one.p_value, rel=1e-3, abs=2e-3)


@FEW
@given(lives(), st.sampled_from(LAWS))
def test_counts_give_the_sum_over_single_failures(ages, distribution):
    distinct, counts = np.unique(ages, return_counts=True)

    grouped = anderson_darling(distinct, counts, distribution=distribution)
    by_unit = anderson_darling(ages, np.ones(len(ages)), distribution=distribution)

    assert grouped.statistic == pytest.approx(by_unit.statistic, rel=1e-9)


def statistics_of(z_failed, z_left):
    """Return the statistic of each row of ordered ln F and ln S."""
    n = z_failed.shape[1]
    weight = 2 * np.arange(1, n + 1) - 1
    return -n - (weight * (z_failed + z_left[:, ::-1])).mean(axis=1)


def simulated(rng, distribution, n):
    """Return statistics of samples, parameters estimated, without our code."""
    if distribution == "lognormal":
        y = np.sort(rng.standard_normal((N_SAMPLES, n)), axis=1)
        z = (y - y.mean(axis=1, keepdims=True)) / y.std(axis=1, ddof=1, keepdims=True)
        return statistics_of(special.log_ndtr(z), special.log_ndtr(-z))
    age = np.sort(rng.standard_exponential((N_SAMPLES, n)), axis=1)
    if distribution == "exponential":
        hazard = age / age.mean(axis=1, keepdims=True)
        return statistics_of(np.log(-np.expm1(-hazard)), -hazard)
    y = np.log(age)
    y -= y.max(axis=1, keepdims=True)
    shape = np.ones((N_SAMPLES, 1))
    for _ in range(30):  # Newton on the one equation of the shape
        w = np.exp(shape * y)
        total = w.sum(axis=1, keepdims=True)
        first = (w * y).sum(axis=1, keepdims=True) / total
        second = (w * y**2).sum(axis=1, keepdims=True) / total
        score = first - 1 / shape - y.mean(axis=1, keepdims=True)
        step = score / (second - first**2 + 1 / shape**2)
        shape = np.maximum(shape - step, shape / 2)
    w = np.exp(shape * y)
    hazard = w / w.mean(axis=1, keepdims=True)
    return statistics_of(np.log(-np.expm1(-hazard)), -hazard)


@pytest.mark.parametrize("distribution", LAWS)
@pytest.mark.parametrize(
    ("n", "worst", "worst_small"),
    [(8, 0.055, 0.011), (20, 0.025, 0.013), (60, 0.02, 0.013)],
)
def test_p_values_are_met_as_often_as_they_say(distribution, n, worst, worst_small):
    # The stated error of the formulas and three standard errors of 20 000 samples
    # (0.0106 at one half, 0.0064 at 0.1, 0.0046 at 0.05).
    statistics = simulated(np.random.default_rng(n), distribution, n)

    for level in (0.9, 0.75, 0.5, 0.25, 0.1, 0.05, 0.01):
        p = p_value(float(np.quantile(statistics, 1 - level)), n, distribution)
        allowed = worst if level > 0.1 else worst_small
        assert abs(p - level) < allowed
