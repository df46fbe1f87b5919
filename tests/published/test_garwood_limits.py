"""Exact limits of a rate.

Data    Counts 0, 1, 2, 5, 10 and 20: F. Garwood, Fiducial limits for the Poisson
        distribution, Biometrika 28 (1936) 437. 137 events over 24.19893 expected: the
        example of the R function poisson.test.
Values  The table (as reprinted with chi-square quantiles by Ulm, 1990) and the output
        of R; both reproduced by R, SciPy and statsmodels to the last digit printed.
Read    2026-11-25.
Digits  Half a unit of the last digit printed; 7.22 is 7.2247 in full, so its unit is
        widened to 0.006.
"""

import pytest

from analytics.statistics.intervals import poisson_interval


def test_limits_of_counts_match_the_table():
    low, high = poisson_interval([0, 1, 2, 5, 10, 20])

    assert low[0] == 0
    assert low[1] == pytest.approx(0.0253, abs=5e-5)
    assert low[2] == pytest.approx(0.242, abs=5e-4)
    assert low[3:] == pytest.approx([1.62, 4.80, 12.22], abs=5e-3)
    assert high == pytest.approx([3.69, 5.57, 7.22, 11.67, 18.39, 30.89], abs=6e-3)


def test_limits_of_a_standardised_ratio_match_the_example():
    low, high = poisson_interval(137, 24.19893)

    assert (low, high) == pytest.approx((4.753125, 6.692709), abs=5e-7)
