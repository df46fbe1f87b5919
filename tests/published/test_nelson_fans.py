"""Three laws and the survival curve on the diesel-generator fans.

Data    W. Nelson, Applied Life Data Analysis, Wiley 1982: 70 fans, 12 failures, hours
        in service; listed in the R package survival (genfan), the SciPy test suite
        (test_continuous_fit_censored) and usnistgov/dataplot (NELS28.DAT).
Values  Weibull shape 1.0584 and scale 26.2968 thousand hours as quoted in that SciPy
        test; the exponential mean is the closed form 344 440 / 12. Lognormal law and
        curve were only cross-checked between R, SciPy, lifelines and statsmodels.
Read    2026-11-25.
Digits  Half a unit of the fourth decimal (of thousand hours for the scale); the
        cross-checked figures to 1e-6 (law) and 1e-7 (curve) relative.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life
from analytics.statistics.life import kaplan_meier

# hours, failed, still working
FANS = [
    (450, 1, 0), (460, 0, 1), (1150, 2, 0), (1560, 0, 1), (1600, 1, 0), (1660, 0, 1),
    (1850, 0, 5), (2030, 0, 3), (2070, 2, 0), (2080, 1, 0), (2200, 0, 1), (3000, 0,
    4), (3100, 1, 0), (3200, 0, 1), (3450, 1, 0), (3750, 0, 2), (4150, 0, 4), (4300,
    0, 4), (4600, 1, 0), (4850, 0, 4), (5000, 0, 3), (6100, 1, 3), (6300, 0, 1),
    (6450, 0, 2), (6700, 0, 1), (7450, 0, 1), (7800, 0, 2), (8100, 0, 2), (8200, 0,
    1), (8500, 0, 3), (8750, 1, 2), (9400, 0, 1), (9900, 0, 1), (10100, 0, 3), (11500,
    0, 1),
]  # fmt: skip


def columns():
    return np.array(FANS).T


def test_weibull_estimates_match_the_published_ones():
    fit = fit_life(*columns(), distribution="weibull")

    assert (fit.n_failed, fit.n_units) == (12, 70)
    assert fit.parameters["shape"] == pytest.approx(1.0584, abs=5e-5)
    assert fit.parameters["scale"] / 1000 == pytest.approx(26.2968, abs=5e-5)


def test_exponential_mean_is_total_hours_over_failures():
    fit = fit_life(*columns(), distribution="exponential")

    assert fit.parameters["scale"] == pytest.approx(344_440 / 12, rel=1e-9)
    assert fit.parameter_interval("scale", method="likelihood") == pytest.approx(
        (17114.1811862, 53601.733916), rel=1e-6
    )


def test_lognormal_law_matches_three_libraries():
    fit = fit_life(*columns(), distribution="lognormal")

    assert fit.parameters == pytest.approx(
        {"mu": 10.1432390946, "sigma": 1.67959261431}, rel=1e-6
    )
    assert fit.log_likelihood == pytest.approx(-134.549648222, abs=1e-6)


def test_survival_at_the_last_failure_matches_four_libraries():
    curve = kaplan_meier(*columns())

    at_last = curve.age == 8750
    assert curve.survival[at_last] == pytest.approx(0.7070378158, rel=1e-7)
    assert curve.low[at_last] == pytest.approx(0.468011561338, rel=1e-7)
