"""Texts, numbers and days of a record, and the code that names each breach."""

import datetime as dt

import pytest

from ingest.readers.source import NoValue
from ingest.records import KINDS
from tests.small_rows import message, problems, record


@pytest.mark.parametrize(
    ("kind", "field"),
    [(kind, field) for kind, spec in KINDS.items() for field in spec.required],
)
def test_a_required_cell_left_empty_is_missing(kind, field):
    assert problems(kind, without=[field]) == [(field, "missing")]


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_with_only_its_required_cells_is_accepted(kind):
    assert record(kind)


def test_a_serial_is_trimmed_and_upper_cased():
    assert record("units", serial="  ab-1_2./x ").serial == "AB-1_2./X"


@pytest.mark.parametrize("serial", ["AB", "A B C", "ÄB-1", "A;B", "straße"])
def test_a_serial_of_other_characters_or_too_short_is_a_bad_pattern(serial):
    assert problems("units", serial=serial) == [("serial", "bad_pattern")]


def test_the_message_shows_what_is_allowed_and_the_value():
    assert message("units", serial="A B C") == (
        "must be 3 to 40 of A-Z 0-9 . _ / -, got 'A B C'"
    )


@pytest.mark.parametrize(
    ("kind", "field", "longest"),
    [
        ("units", "serial", 40),
        ("units", "model", 60),
        ("units", "site", 60),
        ("repairs", "case_id", 40),
        ("repairs", "symptom_text", 2000),
        ("repairs", "technician", 40),
        ("readings", "point", 40),
        ("readings", "instrument", 60),
    ],
)
def test_a_text_may_be_as_long_as_agreed_and_no_longer(kind, field, longest):
    record(kind, **{field: "A" * longest})

    assert problems(kind, **{field: "A" * (longest + 1)}) == [(field, "too_long")]


@pytest.mark.parametrize("cell", [True, NoValue("#N/A")])
@pytest.mark.parametrize(
    ("kind", "field"),
    [("units", "site"), ("units", "serial"), ("repairs", "symptom_text")],
)
def test_a_truth_value_or_an_error_of_a_workbook_is_no_text(kind, field, cell):
    assert problems(kind, **{field: cell}) == [(field, "not_text")]


def test_a_truth_value_is_shown_as_a_spreadsheet_does():
    assert message("units", site=True) == "must be text, got TRUE"


def test_a_long_value_is_shown_shortened():
    assert message("units", site="x" * 200).endswith("x…'")
    assert len(message("units", site="x" * 200)) < 120


@pytest.mark.parametrize(
    ("field", "low", "high"),
    [
        ("cable_length_m", "0", "50"),
        ("conductor_area_mm2", "0.5", "50"),
        ("earth_area_mm2", "0.5", "50"),
        ("rated_current_a", "1", "125"),
        ("warranty_months", "0", "240"),
    ],
)
def test_a_quantity_of_a_unit_lies_within_its_bounds(field, low, high):
    assert getattr(record("units", **{field: low}), field) == float(low)
    assert getattr(record("units", **{field: high}), field) == float(high)

    for beyond in (f"-{high}", f"{high}1"):
        assert problems("units", **{field: beyond}) == [(field, "out_of_range")]


@pytest.mark.parametrize(
    "cell", ["1,5", "1_000", "+5", "12 m", "nan", "inf", "1e999", "0x10", "٣", True]
)
def test_what_is_no_plain_number_is_not_taken_for_one(cell):
    assert problems("units", cable_length_m=cell) == [
        ("cable_length_m", "not_a_number")
    ]


@pytest.mark.parametrize("cell", ["5.", ".5", "7.50", "1E1", "5e-1"])
def test_a_number_may_be_written_in_the_usual_ways(cell):
    assert record("units", cable_length_m=cell).cable_length_m == float(cell)


@pytest.mark.parametrize("cell", ["1_000", "+5", "12.0", "1e1", True, "zwölf"])
def test_what_is_no_whole_number_is_not_taken_for_one(cell):
    assert problems("units", warranty_months=cell) == [
        ("warranty_months", "not_a_number")
    ]


@pytest.mark.parametrize("cell", ["0", "2", "4"])
def test_phases_are_one_or_three(cell):
    assert record("units", phases="3").phases == 3
    assert problems("units", phases=cell) == [("phases", "out_of_range")]


@pytest.mark.parametrize(
    "cell",
    [
        "01.02.2026", "2026/01/02", "20260102", "2026-W01-1", "2026-02-30",
        "2026-01-02T00:00:00", "1767312000", "45000", "2026-1-2", True,
    ],
)  # fmt: skip
def test_a_day_is_a_calendar_date_of_iso_8601_and_nothing_else(cell):
    assert problems("units", shipped_on=cell) == [("shipped_on", "not_a_date")]


def test_a_day_may_have_blanks_around_it():
    assert record("units", shipped_on=" 2024-02-29 ").shipped_on == dt.date(2024, 2, 29)
