"""Weibull law of the 6-mercaptopurine trial, with both kinds of limits.

Data    E. J. Freireich and others, Blood 21 (1963) 699: weeks of remission of 21
        children on 6-mercaptopurine; as shipped in the R package MASS (gehan).
Values  No printed figure: R 4.2.2 (survreg of survival 3.5-3), SciPy and lifelines.
Read    2026-11-25.
Digits  Estimates, errors and Wald limits 1e-6 relative; likelihood-ratio limits, which
        rest on a search in those programs too, 1e-5.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life

WEEKS = [6, 7, 9, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 34, 35]
N_RELAPSED = [3, 1, 0, 1, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0]
N_IN_REMISSION = [1, 0, 1, 1, 1, 0, 0, 1, 1, 1, 0, 0, 1, 2, 1, 1]


def fitted():
    return fit_life(WEEKS, N_RELAPSED, N_IN_REMISSION, distribution="weibull")


def test_estimates_and_their_errors_match_three_libraries():
    fit = fitted()

    shape, scale = fit.parameters["shape"], fit.parameters["scale"]
    assert (shape, scale) == pytest.approx((1.35373452383, 33.7651509676), rel=1e-6)
    assert np.sqrt(np.diag(fit.covariance)) / (shape, scale) == pytest.approx(
        (0.27839788398, 0.273368922147), rel=1e-6
    )
    assert fit.log_likelihood == pytest.approx(-41.6586784769, rel=1e-9)
    assert fit.aicc == pytest.approx(87.9840236204, rel=1e-9)
    assert fit.quantile([0.1, 0.5]) == pytest.approx(
        (6.40506464418, 25.7565030154), rel=1e-6
    )


def test_wald_limits_match_the_libraries():
    fit = fitted()

    assert fit.intervals["shape"] == pytest.approx(
        (0.784441924067, 2.33617952429), rel=1e-6
    )
    assert fit.intervals["scale"] == pytest.approx(
        (19.7595316921, 57.6979979908), rel=1e-6
    )
    assert fit.quantile_interval(0.1) == pytest.approx(
        (2.79508150545, 14.6775158492), rel=1e-6
    )


def test_likelihood_limits_match_the_libraries():
    fit = fitted()

    limits = {n: fit.parameter_interval(n, method="likelihood") for n in fit.parameters}
    assert limits["shape"] == pytest.approx((0.723675000734, 2.20367648742), rel=1e-5)
    assert limits["scale"] == pytest.approx((21.8478414975, 76.8637447741), rel=1e-5)
    assert fit.quantile_interval(0.1, method="likelihood") == pytest.approx(
        (1.90739674775, 12.2732173811), rel=1e-5
    )
