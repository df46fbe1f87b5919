"""Weibull and lognormal law on the ball bearings.

Data    J. Lieblein and M. Zelen, Journal of Research of the National Bureau of
        Standards 57 (1956) 273: million revolutions to failure of 23 bearings.
Values  Weibull scale 81.875 and shape 2.102 as printed in the documentation of an
        open-source library's data set; the lognormal law is the closed form, mean and
        standard deviation (n) of the logarithms.
Read    2026-11-25.
Digits  Half a unit of the third decimal; the closed form to 1e-9.
"""

import numpy as np
import pytest

from analytics.statistics.distributions import fit_life

REVOLUTIONS = [
    17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.4, 51.84, 51.96, 54.12, 55.56, 67.8,
    68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
]  # fmt: skip

ONES = np.ones(23, dtype=int)


def test_weibull_estimates_match_the_printed_ones():
    fit = fit_life(REVOLUTIONS, ONES, 0 * ONES, distribution="weibull")

    assert fit.parameters["scale"] == pytest.approx(81.875, abs=5e-4)
    assert fit.parameters["shape"] == pytest.approx(2.102, abs=5e-4)


def test_complete_lognormal_law_is_the_mean_and_deviation_of_the_logarithms():
    fit = fit_life(REVOLUTIONS, ONES, 0 * ONES, distribution="lognormal")

    logs = np.log(REVOLUTIONS)
    assert fit.parameters == pytest.approx(
        {"mu": logs.mean(), "sigma": logs.std()}, rel=1e-9
    )
    assert fit.mean_log_age == pytest.approx(logs.mean(), rel=1e-12)
