"""A survival curve read at any fraction and any age."""

import math

import numpy as np
import pytest

from analytics.statistics.life import kaplan_meier

TEN = kaplan_meier(range(1, 11), np.ones(10, dtype=int), np.zeros(10, dtype=int))


@pytest.mark.parametrize(
    ("p", "age"), [(0.01, 1), (0.1, 1), (0.11, 2), (0.3, 3), (0.7, 7), (0.9, 9)]
)
def test_the_age_by_which_a_fraction_failed_is_counted_off(p, age):
    assert TEN.quantile(p) == age


def test_the_median_is_the_quantile_of_one_half():
    assert TEN.quantile(0.5) == TEN.median() == 5
    assert TEN.quantile_interval(0.5) == TEN.median_interval()


def test_a_fraction_that_has_not_failed_has_no_age_yet():
    curve = kaplan_meier([2, 3], [1, 0], [0, 9])

    assert curve.quantile(0.1) == 2
    assert curve.quantile(0.11) == math.inf
    assert curve.quantile_interval(0.11)[1] == math.inf


def test_limits_of_an_age_are_where_the_limits_of_the_curve_cross():
    for p in (0.05, 0.25, 0.6):
        low, high = TEN.quantile_interval(p)

        assert low == TEN.age[TEN.low <= 1 - p][0]
        reached = TEN.age[TEN.high <= 1 - p]
        assert high == (reached[0] if len(reached) else math.inf)
        assert low <= TEN.quantile(p) <= high


@pytest.mark.parametrize("interval", ["plain", "log", "log-log"])
def test_where_all_fail_at_once_the_age_is_a_limit_of_itself(interval):
    # No limit is known at a survival of 0, but the lower one lies no higher.
    at_once = kaplan_meier([5], [3], [0], interval=interval)
    nearly = kaplan_meier([1, 2], [1, 99], [0, 0], interval=interval)

    assert (at_once.median(), at_once.median_interval()) == (5, (5, math.inf))
    assert (nearly.median(), nearly.median_interval()) == (2, (2, math.inf))


def test_between_two_ages_the_curve_keeps_its_value():
    curve = kaplan_meier([2, 4], [1, 0], [0, 3])

    survival, low, high = curve.at([[0, 1.9], [2, 3.9]])

    assert survival == pytest.approx(np.array([[1, 1], [0.75, 0.75]]))
    assert (low[0] == 1).all()
    assert (high[0] == 1).all()
    assert low[1] == pytest.approx(curve.low[:1].repeat(2))
    assert high[1] == pytest.approx(curve.high[:1].repeat(2))


def test_beyond_the_last_age_nothing_is_known_while_units_are_left():
    curve = kaplan_meier([2, 4], [1, 0], [0, 3])

    assert curve.at(4)[0] == 0.75
    assert np.isnan(curve.at(4.1)).all()


def test_beyond_the_last_age_nobody_comes_back():
    survival, low, high = TEN.at([9.5, 10, 99])

    assert survival == pytest.approx([0.1, 0, 0])
    assert np.isnan(low).tolist() == np.isnan(high).tolist() == [False, True, True]


@pytest.mark.parametrize("p", [0, 1, -0.1, math.nan])
def test_a_fraction_outside_0_and_1_is_refused(p):
    with pytest.raises(ValueError, match="p must be between 0 and 1"):
        TEN.quantile(p)
    with pytest.raises(ValueError, match="p must be between 0 and 1"):
        TEN.quantile_interval(p)


@pytest.mark.parametrize("age", [-1, math.nan])
def test_an_age_below_0_is_refused(age):
    with pytest.raises(ValueError, match="ages must not be negative"):
        TEN.at(age)
