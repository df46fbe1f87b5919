"""Delays counted by hand, and what is refused."""

import pytest

from analytics.errors import InsufficientDataError
from analytics.statistics.forecast import reporting_lag


def test_completeness_matches_the_fractions_by_hand():
    # Three months of failures, counts by delay: at a delay of 2 months 2 of the 17
    # who could be seen that long, at 1 month 12 of 34.
    result = reporting_lag([0, 1, 2, 0, 1, 0], [2, 2, 2, 1, 1, 0], [10, 5, 2, 12, 7, 9])

    assert list(result.lag) == [0, 1, 2]
    at_1 = 1 - 2 / 17
    assert result.completeness == pytest.approx([at_1 * (1 - 12 / 34), at_1, 1])


def test_rows_without_a_count_are_one_report_each():
    assert list(reporting_lag([0, 1], [1, 1]).completeness) == [0.5, 1]


def test_an_empty_row_is_no_report_whatever_its_lag():
    assert list(reporting_lag([1, 9], [3, 2], [4, 0]).lag) == [1]


def test_no_report_is_said_to_be_too_few():
    with pytest.raises(InsufficientDataError, match="at least 1 reports, found 0"):
        reporting_lag([], [], [])


@pytest.mark.parametrize(
    ("lag", "truncation", "n", "message"),
    [
        ([2], [1], [1], "a lag is longer than its truncation"),
        ([-1], [1], [1], "lag must be finite and not negative"),
        ([1], [1, 2], [1], r"truncation must have shape \(1,\)"),
        ([1], [1], [0.5], "n must be whole"),
    ],
)
def test_delays_that_do_not_fit_are_refused(lag, truncation, n, message):
    with pytest.raises(ValueError, match=message):
        reporting_lag(lag, truncation, n)
