"""Shipments, planned sales and usage: months, whole numbers, one of three recorded."""

import datetime as dt

import pytest

from ingest.records import KINDS
from tests.small_rows import message, problems, record

MONTHS = [
    ("shipments", "shipped_month"),
    ("planned_sales", "month"),
    ("usage", "month"),
]


@pytest.mark.parametrize(("kind", "field"), MONTHS)
@pytest.mark.parametrize("cell", ["2024-02", "2024-02-01", " 2024-02 "])
def test_a_month_is_kept_as_its_first_day(kind, field, cell):
    # A spreadsheet that is given a month keeps its first day.
    assert getattr(record(kind, **{field: cell}), field) == dt.date(2024, 2, 1)


@pytest.mark.parametrize(("kind", "field"), MONTHS)
@pytest.mark.parametrize(
    "cell",
    [
        "2024-13", "2024-00", "0000-01", "2024-2", "2024", "02/2024", "Feb 2024",
        "2024-02-02", "2024-02-29", "2024-02-01T00:00:00", "202402", "45000", True,
    ],
)  # fmt: skip
def test_what_is_no_month_is_refused(kind, field, cell):
    assert problems(kind, **{field: cell}) == [(field, "not_a_date")]


@pytest.mark.parametrize(
    ("kind", "field", "most"),
    [
        ("shipments", "quantity", 1_000_000_000),
        ("planned_sales", "quantity", 1_000_000_000),
        ("usage", "sessions", 1_000_000),
        ("usage", "energy_kwh", 1_000_000),
        ("usage", "connected_hours", 745),
    ],
)
def test_a_count_lies_between_zero_and_its_bound(kind, field, most):
    for cell in (0, 1, most - 1, most):
        assert getattr(record(kind, **{field: str(cell)}), field) == cell

    for beyond in ("-1", str(most + 1), "1" + "0" * 30):
        assert problems(kind, **{field: beyond}) == [(field, "out_of_range")]


@pytest.mark.parametrize("kind", ["shipments", "planned_sales"])
def test_a_quantity_is_a_whole_number(kind):
    assert problems(kind, quantity="1.5") == [("quantity", "not_a_number")]


def test_usage_needs_one_of_three_and_zero_is_one():
    only = {"without": ["sessions"]}

    assert problems("usage", **only) == [("connected_hours", "missing")]
    assert message("usage", sessions=None) == (
        "one of sessions, energy_kwh, connected_hours is needed"
    )
    for field in ("sessions", "energy_kwh", "connected_hours"):
        assert record("usage", **({"sessions": None} | {field: "0"}))


def test_usage_that_is_wrong_itself_makes_no_second_problem():
    assert problems("usage", sessions="many") == [("sessions", "not_a_number")]


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        ("shipments", ("model", "production_lot", "shipped_month", "region")),
        ("planned_sales", ("model", "month", "region")),
        ("usage", ("serial", "month")),
    ],
)
def test_one_record_differs_from_another_by_its_key(kind, key):
    assert KINDS[kind].key == key
