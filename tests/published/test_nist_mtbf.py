"""Limits of a mean time between failures, from the exact limits of the rate.

Data    NIST/SEMATECH e-Handbook of Statistical Methods 8.4.5.1: 2 failures in 800
        hours; the factors for 1 failure; no failure in 1000 hours. K. V. Bury,
        Statistical Distributions in Engineering, 1999, example 12.4: 12 failures in
        2040 hours.
Values  90 % interval 127 to 2251 hours; factors 0.2108 and 19.4958 for 1 failure at
        90 %. Without failure the lower limit is the closed form 1000 / -ln(0.05), in a
        two-sided interval 1000 / -ln(0.025). The upper limit of the example, 329.0017
        at 95 %, is not printed there: SciPy and R.
Read    2026-11-25.
Digits  Hours are printed whole (0.6 allows their rounding path); the factors have 4
        decimals, the last of 19.4958 is 2 units off its full value 19.49573.
"""

import math

import pytest

from analytics.statistics.distributions import weibull_assumed_shape
from analytics.statistics.intervals import poisson_interval


def test_two_failures_give_the_printed_interval():
    low, high = poisson_interval(2, 800, confidence=0.90)

    assert (1 / high, 1 / low) == pytest.approx((127, 2251), abs=0.6)


def test_one_failure_gives_the_printed_factors():
    low, high = poisson_interval(1, 1, confidence=0.90)

    assert 1 / high == pytest.approx(0.2108, abs=5e-5)
    assert 1 / low == pytest.approx(19.4958, abs=2e-4)


def test_no_failure_gives_a_one_sided_limit_in_closed_form():
    low, high = poisson_interval(0, 1000, confidence=0.90)

    assert low == 0
    assert 1 / high == pytest.approx(1000 / -math.log(0.05), rel=1e-12)


def test_the_mean_life_is_that_of_a_weibull_law_of_shape_1():
    fit = weibull_assumed_shape([400], [2], [0], shape=1, confidence=0.90)

    assert fit.scale == pytest.approx(400)
    assert (fit.low, fit.high) == pytest.approx((127, 2251), abs=0.6)

    none = weibull_assumed_shape([1000], [0], [1], shape=1, confidence=0.95)
    assert none.low == pytest.approx(1000 / -math.log(0.05), rel=1e-12)

    twelve = weibull_assumed_shape([170], [12], [0], shape=1, confidence=0.95)
    assert twelve.scale == pytest.approx(170)
    assert twelve.high == pytest.approx(329.001740037, rel=1e-9)


def test_no_failure_leaves_the_two_sided_interval_open_above():
    low, high = poisson_interval(0, 1000, confidence=0.95)

    assert low == 0
    assert 1 / high == pytest.approx(271.085030682, rel=1e-9)
