"""Weibull and lognormal law on the example of the engineering handbook.

Data    NIST/SEMATECH e-Handbook of Statistical Methods 8.4.1.3: 20 units, 10 failures,
        10 still working at 500 hours.
Values  Printed there: shape 1.7208, scale 606.528 (606.5280), log-likelihood 75.135
        without its minus sign, mean life 540.737; AIC 154.27 (Weibull) and 154.39
        (lognormal). Limits were only cross-checked between R (survreg), SciPy and
        lifelines.
Read    2026-11-25.
Digits  Half a unit of the last digit; the scale is 606.52756 when fully converged, so
        that it is compared to 0.0006, and the mean to 0.002. Limits to 1e-6 relative.
"""

import math

import pytest

from analytics.statistics.distributions import fit_life

HOURS = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386, 500]
N_FAILED = [1] * 10 + [0]
N_WORKING = [0] * 10 + [10]


def test_weibull_estimates_match_the_printed_ones():
    fit = fit_life(HOURS, N_FAILED, N_WORKING, distribution="weibull")

    shape, scale = fit.parameters["shape"], fit.parameters["scale"]
    assert shape == pytest.approx(1.7208, abs=5e-5)
    assert scale == pytest.approx(606.5280, abs=6e-4)
    assert fit.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    assert scale * math.gamma(1 + 1 / shape) == pytest.approx(540.737, abs=2e-3)


@pytest.mark.parametrize(
    ("distribution", "aic"), [("weibull", 154.27), ("lognormal", 154.39)]
)
def test_information_criteria_match_the_printed_ones(distribution, aic):
    fit = fit_life(HOURS, N_FAILED, N_WORKING, distribution=distribution)

    assert 4 - 2 * fit.log_likelihood == pytest.approx(aic, abs=5e-3)
    # With 20 units and 2 parameters the correction adds 12 / 17.
    assert fit.aicc == pytest.approx(4 + 12 / 17 - 2 * fit.log_likelihood)


def test_weibull_limits_match_three_libraries():
    fit = fit_life(HOURS, N_FAILED, N_WORKING, distribution="weibull")

    ratio = {n: fit.parameter_interval(n, method="likelihood") for n in fit.parameters}
    assert fit.intervals["shape"] == pytest.approx(
        (0.971266101954, 3.04874555678), rel=1e-6
    )
    assert fit.intervals["scale"] == pytest.approx(
        (405.089293533, 908.134785319), rel=1e-6
    )
    assert ratio["shape"] == pytest.approx((0.905645358753, 2.88573786574), rel=1e-6)
    assert ratio["scale"] == pytest.approx((437.556745394, 1118.8776247), rel=1e-6)
    assert fit.quantile_interval(0.1) == pytest.approx(
        (83.8751295255, 320.754919082), rel=1e-6
    )
    assert fit.quantile_interval(0.1, method="likelihood") == pytest.approx(
        (59.8545542493, 271.949517555), rel=1e-6
    )


def test_lognormal_estimates_and_limits_match_three_libraries():
    fit = fit_life(HOURS, N_FAILED, N_WORKING, distribution="lognormal")

    assert fit.parameters == pytest.approx(
        {"mu": 6.22601506856, "sigma": 0.908914039433}, rel=1e-6
    )
    assert fit.intervals["mu"] == pytest.approx(
        (5.73516263596, 6.71686750116), rel=1e-6
    )
    assert fit.parameter_interval("mu", method="likelihood") == pytest.approx(
        (5.78966413658, 6.90151055012), rel=1e-6
    )
    assert fit.parameter_interval("sigma", method="likelihood") == pytest.approx(
        (0.594260425807, 1.6026230924), rel=1e-6
    )
