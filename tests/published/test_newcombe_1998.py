"""Limits of a proportion against the examples of Newcombe.

Data    R. G. Newcombe, Two-sided confidence intervals for the single proportion,
        Statistics in Medicine 17 (1998) 857, table I: 81 of 263, 15 of 148, 0 of 20,
        1 of 29.
Values  Wilson and Clopper-Pearson rows as printed there. Jeffreys rows are not
        printed: cross-checked between R, SciPy and statsmodels.
Read    2026-11-25.
Digits  Printed to 4 decimals and compared to half a unit of the fourth; the
        cross-checked rows to 1e-6 relative.
"""

import pytest

from analytics.statistics.intervals import binomial_interval

N_EVENTS = [81, 15, 0, 1]
N_TRIALS = [263, 148, 20, 29]


def test_wilson_limits_match_the_printed_ones():
    low, high = binomial_interval(N_EVENTS, N_TRIALS, method="wilson")

    assert low == pytest.approx([0.2553, 0.0624, 0, 0.0061], abs=5.1e-5)
    assert high == pytest.approx([0.3662, 0.1605, 0.1611, 0.1718], abs=5.1e-5)


def test_exact_limits_match_the_printed_ones():
    low, high = binomial_interval(N_EVENTS, N_TRIALS, method="clopper-pearson")

    assert low == pytest.approx([0.2527, 0.0578, 0, 0.0009], abs=5.1e-5)
    assert high == pytest.approx([0.3676, 0.1617, 0.1684, 0.1776], abs=5.1e-5)


def test_jeffreys_limits_match_those_of_three_libraries():
    low, high = binomial_interval(N_EVENTS, N_TRIALS, method="jeffreys")

    assert low == pytest.approx(
        [0.254521934991, 0.0604485170093, 0, 0.00374617364906], rel=1e-6
    )
    assert high == pytest.approx(
        [0.365647499174, 0.157643143479, 0.116638982905, 0.150077686002], rel=1e-6
    )
