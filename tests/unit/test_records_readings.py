"""The rules of a reading: value or outcome, unit, over range, and when it was taken."""

import pytest

from ingest.records import KINDS
from ingest.validation import validated

READING = {
    "case_id": "R-1",
    "check": "insulation_resistance",
    "taken_at": "2025-06-02",
    "stage": "diagnosis",
}


def reading(**cells):
    found = validated(KINDS["readings"], READING | cells)
    assert not isinstance(found, list), found
    return found


def problems(**cells):
    found = validated(KINDS["readings"], READING | cells)
    assert isinstance(found, list), f"accepted: {found}"
    return [(problem.field, problem.code) for problem in found]


def test_a_reading_needs_a_value_or_an_outcome():
    assert reading(outcome="pass").value is None
    assert reading(value="3", unit="Mohm").outcome is None
    assert problems() == [("value", "missing")]


def test_an_outcome_that_is_wrong_itself_makes_no_second_problem():
    assert problems(outcome="ok") == [("outcome", "unknown_code")]


def test_a_value_needs_its_unit():
    assert problems(value="3") == [("unit", "missing")]


@pytest.mark.parametrize("unit", ["V", "furlong", "mΩs"])
def test_a_unit_must_convert_to_that_of_the_check(unit):
    assert problems(value="3", unit=unit) == [("unit", "unknown_unit")]


def test_a_check_that_is_judged_by_eye_takes_no_value():
    assert problems(check="visual_inspection", value="3", unit="ohm") == [
        ("unit", "unknown_unit")
    ]
    assert reading(check="visual_inspection", outcome="fail")


def test_a_value_is_converted_to_the_unit_of_the_check_and_kept_as_given():
    found = reading(value="2500", unit="kohm")

    assert (found.value, found.unit) == ("2500", "kohm")
    assert found.measured() == (2.5, None, None)


@pytest.mark.parametrize(("unit", "quantity"), [("mohm", 0.001), ("Mohm", 1e6)])
def test_a_small_m_is_a_thousandth_and_a_capital_a_million(unit, quantity):
    found = reading(check="pilot_continuity", value="1", unit=unit)

    assert found.measured().quantity == quantity


@pytest.mark.parametrize(
    ("value", "measured"),
    [
        ("OL", (None, "above", None)),
        ("ol", (None, "above", None)),
        (">2000", (None, "above", 2.0)),
        ("> 2000", (None, "above", 2.0)),
        ("<500", (None, "below", 0.5)),
        ("-0.5", (-0.0005, None, None)),
    ],
)
def test_a_value_out_of_range_keeps_its_bound(value, measured):
    assert reading(value=value, unit="kohm").measured() == measured


def test_an_outcome_alone_measures_nothing():
    assert reading(outcome="pass").measured() == (None, None, None)


@pytest.mark.parametrize(
    "value", ["high", "1,5", ">>1", "=1", "+5", "1_0", "OLD", True]
)
def test_any_other_text_is_no_value(value):
    assert problems(value=value, unit="kohm") == [("value", "not_a_number")]


def test_without_a_known_check_the_unit_is_not_judged():
    assert problems(check="look", value="3", unit="furlong") == [
        ("check", "unknown_code")
    ]


@pytest.mark.parametrize(
    ("cell", "moment"),
    [
        ("2025-06-02", "2025-06-02T00:00:00"),
        ("2025-06-02T10:30", "2025-06-02T10:30:00"),
        ("2025-06-02 10:30:15", "2025-06-02T10:30:15"),
        ("2025-06-02T10:30:15.5Z", "2025-06-02T10:30:15.500000"),
        ("2025-06-02T01:30+02:00", "2025-06-01T23:30:00"),
        ("2025-06-02T01:30-0500", "2025-06-02T06:30:00"),
    ],
)
def test_a_moment_is_kept_in_utc(cell, moment):
    assert reading(outcome="pass", taken_at=cell).taken_at.isoformat() == moment


@pytest.mark.parametrize(
    "cell",
    [
        "02.06.2025", "2025-06-31", "2025-06-02T25:00", "2025-06-02T10", "1750000000",
        "0001-01-01T00:00+02:00", "noon", True,
    ],
)  # fmt: skip
def test_any_other_moment_is_not_a_date(cell):
    assert problems(outcome="pass", taken_at=cell) == [("taken_at", "not_a_date")]


def test_the_sequence_is_1_unless_said():
    assert reading(outcome="pass").sequence == 1
    assert reading(outcome="pass", sequence="2").sequence == 2


@pytest.mark.parametrize(
    ("cell", "code"),
    [("0", "out_of_range"), ("-1", "out_of_range"), ("a", "not_a_number")],
)
def test_a_sequence_counts_from_1(cell, code):
    assert problems(outcome="pass", sequence=cell) == [("sequence", code)]


@pytest.mark.parametrize(
    ("field", "cell"), [("ambient_c", "-300"), ("minutes", "-1"), ("minutes", "20000")]
)
def test_what_cannot_be_is_out_of_range(field, cell):
    assert problems(outcome="pass", **{field: cell}) == [(field, "out_of_range")]


def test_the_key_tells_readings_apart_by_stage_point_condition_and_sequence():
    assert set(KINDS["readings"].key) == {
        "case_id", "check", "stage", "point", "condition", "taken_at", "sequence",
    }  # fmt: skip
