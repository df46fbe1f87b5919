"""Survival from brackets: what the data determine, and what they leave open."""

import math

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.life import interval_censored

# Two in (0, 2], one in (1, 3], one working at 3: 3/4 in (1, 2], 1/4 beyond 3.
BRACKETS = interval_censored([0, 1, 3], [2, 3, math.inf], n_units=[2, 1, 1])
# One at 5, one in (5, 9], two working at 9.
POINT = interval_censored([5, 5, 9], [5, 9, math.inf], n_units=[1, 1, 2])


def test_survival_is_determined_outside_the_intervals_that_carry_mass():
    low, high = BRACKETS.survival_range([0, 1, 2, 3])

    assert low == pytest.approx([1, 1, 0.25, 0.25])
    assert high == pytest.approx([1, 1, 0.25, 0.25])


def test_within_such_an_interval_survival_lies_between_its_ends():
    low, high = BRACKETS.survival_range([[1.5, 4]])

    assert low == pytest.approx(np.array([[0.25, 0]]))
    assert high == pytest.approx(np.array([[1, 0.25]]))


def test_a_point_fails_at_its_age():
    low, high = POINT.survival_range([4.9, 5, 5.1, 9])

    assert low == pytest.approx([1, 0.75, 0.5, 0.5])
    assert high == pytest.approx([1, 0.75, 0.75, 0.5])


def test_the_age_of_a_fraction_is_known_to_an_interval():
    assert BRACKETS.quantile_range(0.1) == (1, 2)
    assert BRACKETS.quantile_range(0.75) == (1, 2)
    assert BRACKETS.quantile_range(0.76) == (3, math.inf)
    assert POINT.quantile_range(0.25) == (5, 5)
    assert POINT.quantile_range(0.26) == (5, 9)


def test_the_estimate_says_from_how_many_units():
    assert BRACKETS.n_units == 4


def test_units_working_throughout_leave_all_open_after_the_last_age():
    estimate = interval_censored([3, 7], [math.inf, math.inf])

    assert estimate.survival_range(7) == (1, 1)
    assert estimate.survival_range(7.1) == (0, 1)
    assert estimate.quantile_range(0.5) == (7, math.inf)


def test_ten_million_units_at_exact_ages_are_counted_off():
    n = np.array([9_000_000, 1, 999_999])

    estimate = interval_censored([1, 2, 3], [1, 2, math.inf], n_units=n)

    assert estimate.mass == pytest.approx(n / n.sum(), rel=1e-9)


def test_two_thousand_brackets_are_estimated_to_the_maximum():
    rng = np.random.default_rng(6)
    n = 2000
    lower = np.floor(400 * rng.weibull(1.5, n))
    upper = lower + rng.integers(1, 90, n)
    upper[rng.random(n) < 0.3] = math.inf
    exact = rng.random(n) < 0.2
    upper[exact] = lower[exact]

    estimate = interval_censored(lower, upper)

    left, right, mass = estimate.lower, estimate.upper, estimate.mass
    within = (left >= lower[:, None]) & (right <= upper[:, None])
    point = left == right
    within &= ~(point & (left == lower[:, None])) | (lower == upper)[:, None]
    within &= (lower < upper)[:, None] | point
    slope = (within / (within @ mass)[:, None]).sum(axis=0)
    # Kuhn and Tucker: the slope is the number of units where there is mass, and
    # nowhere above it.
    assert slope.max() <= n * (1 + 1e-9)
    assert slope[mass > 1e-6] == pytest.approx(n, rel=1e-5)


def test_a_search_that_does_not_end_is_said(monkeypatch):
    monkeypatch.setattr("analytics.statistics.turnbull.MAX_STEPS", 1)

    with pytest.raises(ArithmeticError, match="no convergence in 1 steps"):
        interval_censored([0, 1, 2, 3], [2, 3, 5, 9])


@pytest.mark.parametrize("p", [0, 1, math.nan])
def test_a_fraction_outside_0_and_1_is_refused(p):
    with pytest.raises(ValueError, match="p must be between 0 and 1"):
        BRACKETS.quantile_range(p)


def test_ages_below_0_are_refused():
    with pytest.raises(ValueError, match="ages must not be negative"):
        BRACKETS.survival_range(-1)
    with pytest.raises(ValueError, match="lower must be finite and not negative"):
        interval_censored([-1], [1])


@pytest.mark.parametrize(
    ("upper", "n_units", "message"),
    [
        ([1], [1, 1], r"upper must have shape \(2,\), got \(1,\)"),
        ([1, math.nan], [1, 1], "not lie below lower"),
        ([1, 2], [1, -1], "n_units must be whole and not negative, got -1"),
        ([1, 2], [1], r"n_units must have shape \(2,\)"),
    ],
)
def test_brackets_that_do_not_fit_are_refused(upper, n_units, message):
    with pytest.raises(ValueError, match=message):
        interval_censored([0, 1], upper, n_units=n_units)


def test_no_unit_is_too_few():
    with pytest.raises(InsufficientDataError, match="needed at least 1 units, found 0"):
        interval_censored([], [])
