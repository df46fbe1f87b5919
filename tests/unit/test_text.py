import math

import pytest

from dashboard import text


@pytest.mark.parametrize(
    ("number", "shown"),
    [
        (0.012345, "0.0123"),
        (1.2, "1.20"),
        (12.345, "12.3"),
        (1234.5, "1\u202f230"),
        (0, "0"),
        (999_999_999, "1\u202f000\u202f000\u202f000"),
        (8.3e12, "8.30\u202f\u00d7\u202f10¹²"),
        (-7.777e-66, "-7.78\u202f\u00d7\u202f10⁻⁶⁶"),
        (-4.567, "-4.57"),
        (math.inf, "not reached"),
        (math.nan, "-"),
        (None, "-"),
    ],
)
def test_an_estimate_has_three_significant_digits(number, shown):
    assert text.estimate(number) == shown


def test_a_count_is_exact_with_thin_spaces():
    assert text.count(1234567) == "1\u202f234\u202f567"


@pytest.mark.parametrize(
    ("days", "shown"),
    [(9.0, "9"), (999, "999"), (1763, "1\u202f760"), (9.5, "9.50"), (0, "0")],
)
def test_an_age_in_whole_days_has_no_decimals(days, shown):
    assert text.age(days) == shown


def test_an_interval_reads_as_from_to():
    assert text.interval(12.04, 19.2) == "12.0 to 19.2"


@pytest.mark.parametrize(("n", "shown"), [(999, "12 %"), (1000, "12.3 %")])
def test_a_share_has_a_decimal_from_a_thousand_cases_on(n, shown):
    assert text.share(0.1234, n) == shown


@pytest.mark.parametrize(
    ("fraction", "n", "shown"),
    [(0.0001, 5, "under 1 %"), (0.0001, 5000, "under 0.1 %"), (0.0, 5, "0 %")],
)
def test_a_small_share_is_not_shown_as_none(fraction, n, shown):
    assert text.share(fraction, n) == shown


def test_the_interval_of_a_share_has_the_digits_of_the_share():
    assert text.share_interval(0.101, 0.149, 50) == "10 to 15 %"


def test_a_code_reads_as_words():
    assert text.words("failed_before_service") == "failed before service"


def test_a_table_sets_numbers_to_the_right_and_leaves_unknown_empty():
    rows = [
        {"name": "a", "n": 5, "share": 0.5, "is": True},
        {"name": "bcd", "n": 1500, "share": None, "is": False},
    ]

    shown = text.table(rows, {"name": "name", "n": "cases", "share": "s", "is": "is"})

    assert shown.splitlines() == [
        "name  cases      s   is",
        "a         5  0.500  yes",
        "bcd   1\u202f500          no",
    ]


def test_a_p_value_is_not_told_smaller_than_can_be_checked():
    assert text.p_value(0.0123) == "0.012"
    assert text.p_value(3e-9) == "under 0.0001"
