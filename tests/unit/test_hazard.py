"""Failures over exposure in pieces of age, by hand."""

import math

import numpy as np
import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.intervals import poisson_interval


def test_units_add_the_time_they_spend_in_a_piece():
    # One fails at 3, one at 10, two are last seen at 15.
    result = hazard_by_age([3, 10, 15], [1, 1, 0], [0, 0, 2], edges=[0, 5, 10, 20])

    assert list(result.n_failed) == [1, 1, 0]
    assert list(result.exposure) == [3 + 3 * 5, 3 * 5, 2 * 5]
    assert result.rate == pytest.approx([1 / 18, 1 / 15, 0])
    low, high = poisson_interval([1, 1, 0], [18, 15, 10])
    assert list(result.low) == list(low)
    assert list(result.high) == list(high)
    assert (list(result.from_age), list(result.to_age)) == ([0, 5, 10], [5, 10, 20])


def test_units_that_enter_late_add_the_time_since():
    result = hazard_by_age(
        [8, 15], [1, 0], [0, 3], edges=[0, 5, 10], entry_age=[0, 2, 6, 12]
    )

    # From 0 and from 2 until 5; from 5 on two, and from 6 on three, one until 8.
    assert list(result.exposure) == [5 + 3, 3 + 5 + 4]
    assert list(result.n_failed) == [0, 1]


def test_a_failure_on_an_edge_belongs_to_the_piece_that_ends_there():
    result = hazard_by_age([0, 5, 10], [1, 1, 1], [0, 0, 9], edges=[0, 5, 10])

    assert list(result.n_failed) == [2, 1]


def test_failures_before_the_first_edge_are_in_no_piece():
    result = hazard_by_age([0, 5, 10], [1, 1, 1], [0, 0, 9], edges=[5, 10])

    assert list(result.n_failed) == [1]


def test_where_nobody_was_in_view_nothing_is_known():
    result = hazard_by_age([0.3, 0.7], [1, 1], [0, 0], edges=[0, 0.7, 0.9, 1])

    assert np.isnan(result.rate).tolist() == [False, True, True]
    assert (result.low[1], result.high[1]) == (0, math.inf)
    assert list(result.exposure[1:]) == [0, 0]


def test_failures_without_any_time_in_view_have_no_rate():
    result = hazard_by_age([0], [3], [0], edges=[0, 1])

    assert (result.n_failed[0], result.exposure[0]) == (3, 0)
    assert math.isnan(result.rate[0])
    assert result.high[0] == math.inf


@pytest.mark.parametrize("edges", [[], [1], [0, 0], [2, 1], [[0, 1]], [0, math.inf]])
def test_edges_that_do_not_ascend_are_refused(edges):
    with pytest.raises(ValueError, match="edges must"):
        hazard_by_age([1], [1], [0], edges=edges)


def test_no_unit_is_too_few():
    with pytest.raises(InsufficientDataError, match="needed at least 1 units, found 0"):
        hazard_by_age([], [], [], edges=[0, 1])
