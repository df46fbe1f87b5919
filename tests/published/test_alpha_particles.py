"""Exponential law on grouped times between alpha particles.

Data    J. Berkson, in the Fifth Berkeley Symposium (1966), as grouped by W. Q. Meeker
        and L. A. Escobar, Statistical Methods for Reliability Data, Wiley 1998, table
        7.1: 10 220 times, and a sample of 200, in units of 1/5000 second.
Values  Chapter 7 there: mean 572.3, Wald limits 496 and 660, likelihood-ratio limits
        498 and 662 (n = 200); 596.3, 585 and 608 (n = 10 220). Reproduced by SciPy,
        R and lifelines to the last digit printed.
Read    2026-11-25.
Digits  Half a unit of the last digit printed.
"""

import pytest

from analytics.statistics.distributions import fit_life

LOWER = [0, 100, 300, 500, 700, 1000, 2000]
UPPER = [100, 300, 500, 700, 1000, 2000, 4000]
N_OF_200 = [41, 44, 24, 32, 29, 21, 9]
N_OF_ALL = [1609, 2424, 1770, 1306, 1213, 1528, 354]


def fitted(n_interval, n_longer):
    return fit_life(
        [4000], [0], [n_longer], distribution="exponential",
        lower=LOWER, upper=UPPER, n_interval=n_interval,
    )  # fmt: skip


def test_mean_and_both_kinds_of_limits_match_the_sample_of_200():
    fit = fitted(N_OF_200, 0)

    assert fit.parameters["scale"] == pytest.approx(572.3, abs=0.05)
    assert fit.intervals["scale"] == pytest.approx((496, 660), abs=0.5)
    assert fit.parameter_interval("scale", method="likelihood") == pytest.approx(
        (498, 662), abs=0.5
    )


def test_mean_and_limits_match_all_times():
    fit = fitted(N_OF_ALL, 16)

    assert fit.parameters["scale"] == pytest.approx(596.3, abs=0.05)
    assert fit.intervals["scale"] == pytest.approx((585, 608), abs=0.5)
