"""Weibull scale with an assumed shape.

Data    Made up: 119 units of a small fleet, 2 failures, shape 2 assumed.
Values  No printed figure: the closed form with chi-square quantiles, computed with
        SciPy and with R.
Read    2026-11-25.
Digits  1e-7 relative.
"""

import pytest

from analytics.statistics.distributions import weibull_assumed_shape

AGES = [150, 400, 650, 900, 1200, 1500]
N_FAILED = [0, 1, 0, 0, 1, 0]
N_WORKING = [40, 0, 35, 30, 0, 12]


def test_scale_and_one_sided_limit_match_the_closed_form():
    # The lower end of a two-sided 80 % interval is a one-sided 90 % limit.
    fit = weibull_assumed_shape(AGES, N_FAILED, N_WORKING, shape=2, confidence=0.8)

    assert fit.scale == pytest.approx(5856.08657723, rel=1e-7)
    assert fit.low == pytest.approx(3589.81428583, rel=1e-7)
    low, _ = fit.quantile_interval(0.1)
    assert low == pytest.approx(1165.22803556, rel=1e-7)
