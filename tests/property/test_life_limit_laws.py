"""What holds for the limits of every fitted life distribution."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from analytics.statistics.distributions import fit_life
from tests.property.test_weibull_laws import life_counts

FEW = settings(max_examples=40, deadline=None)
ANY = st.sampled_from(["weibull", "lognormal", "exponential"])
METHODS = st.sampled_from(["wald", "likelihood"])
AGES = st.floats(0.1, 1e4)


def failed_fraction(distribution, parameters, age):
    if distribution == "lognormal":
        return stats.lognorm(parameters[1], scale=np.exp(parameters[0])).cdf(age)
    if distribution == "weibull":
        return stats.weibull_min(parameters[0], scale=parameters[1]).cdf(age)
    return stats.expon(scale=parameters[0]).cdf(age)


@FEW
@given(life_counts(), ANY, AGES)
def test_limits_of_a_fraction_and_of_its_age_are_inverses(counts, distribution, age):
    fit = fit_life(*counts, distribution=distribution)

    low, high = fit.failed_fraction_interval(age, method="likelihood")

    # Near 1 a fraction keeps few digits of what is left, and so of its age.
    if 1e-12 < high < 1 - 1e-8:
        earliest, _ = fit.quantile_interval(high, method="likelihood")
        assert earliest == pytest.approx(age, rel=1e-6)
    if 1e-12 < low < 1 - 1e-8:
        _, latest = fit.quantile_interval(low, method="likelihood")
        assert latest == pytest.approx(age, rel=1e-6)


@FEW
@given(life_counts(), ANY, METHODS, AGES)
def test_limits_of_a_fraction_hold_the_estimate(counts, distribution, method, age):
    fit = fit_life(*counts, distribution=distribution)

    low, high = fit.failed_fraction_interval(age, method=method)

    assert 0 <= low <= fit.failed_fraction(age) <= high <= 1


@FEW
@given(life_counts(), ANY)
def test_likelihood_limits_of_the_fraction_rise_with_age(counts, distribution):
    fit = fit_life(*counts, distribution=distribution)

    low, high = fit.failed_fraction_interval(
        np.geomspace(1, 4000, 6), method="likelihood"
    )

    assert (np.diff(low) >= 0).all()
    assert (np.diff(high) >= 0).all()


@FEW
@given(life_counts(), ANY, st.floats(0.01, 0.99))
def test_wald_limits_of_the_fraction_follow_the_delta_method(counts, distribution, p):
    fit = fit_life(*counts, distribution=distribution)
    age = float(fit.quantile(p))
    best = np.array(list(fit.parameters.values()))
    steps = 1e-5 * np.sqrt(np.diag(fit.covariance))

    gradient = [
        (
            special.logit(failed_fraction(distribution, best + step, age))
            - special.logit(failed_fraction(distribution, best - step, age))
        )
        / (2 * size)
        for step, size in zip(np.diag(steps), steps, strict=True)
    ]
    reach = stats.norm.ppf(0.975) * np.sqrt(gradient @ fit.covariance @ gradient)
    low, high = fit.failed_fraction_interval(age)
    expected = special.expit(special.logit(p) + np.array([-reach, reach]))
    assert (low, high) == pytest.approx(tuple(expected), rel=1e-5)


@FEW
@given(life_counts(), ANY, st.floats(0.05, 0.95))
def test_a_law_on_the_likelihood_limit_is_as_likely_as_the_level(
    counts, distribution, p
):
    fit = fit_life(*counts, distribution=distribution)
    ages, failed, censored = counts
    age = float(fit.quantile(p))

    # All laws with that fraction failed at the age, on a grid of their free parameter.
    grid = np.exp(np.linspace(-5, 5, 8001))[:, None]
    for limit in fit.failed_fraction_interval(age, method="likelihood"):
        with np.errstate(all="ignore"):
            if distribution == "lognormal":
                sigmas = fit.parameters["sigma"] * grid
                law = stats.lognorm(
                    sigmas, scale=age * np.exp(-stats.norm.ppf(limit) * sigmas)
                )
            else:
                shapes = (
                    fit.parameters["shape"] * grid
                    if "shape" in fit.parameters
                    else np.ones((1, 1))
                )
                law = stats.weibull_min(
                    shapes, scale=age / (-np.log1p(-limit)) ** (1 / shapes)
                )
            values = np.where(failed, failed * law.logpdf(ages), 0).sum(axis=1)
            values += np.where(censored, censored * law.logsf(ages), 0).sum(axis=1)
        drop = 2 * (fit.log_likelihood - np.nanmax(values))
        assert drop == pytest.approx(stats.chi2.ppf(0.95, 1), abs=5e-3)


@FEW
@given(life_counts(), ANY, METHODS, st.floats(1e-6, 1e6))
def test_limits_do_not_depend_on_the_unit_of_age(counts, distribution, method, factor):
    ages, failed, censored = counts
    asked = np.array([10.0, 300.0, 2000.0])

    one = fit_life(ages, failed, censored, distribution=distribution)
    other = fit_life(ages * factor, failed, censored, distribution=distribution)

    limits = one.failed_fraction_interval(asked, method=method)
    others = other.failed_fraction_interval(asked * factor, method=method)
    assert np.ravel(others) == pytest.approx(np.ravel(limits), rel=1e-5, abs=1e-12)
