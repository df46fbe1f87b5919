"""Each rule of a unit, a repair and a reading, and the code that names its breach."""

import datetime as dt
from decimal import Decimal

import pytest

from ingest.readers.source import NoValue
from ingest.records import KINDS
from ingest.validation import validated

UNIT = {"serial": "U-001", "model": "Model A"}
REPAIR = {"case_id": "R-1", "serial": "U-001", "received_on": "2025-06-01"}
READING = {
    "case_id": "R-1",
    "check": "pilot_continuity",
    "taken_at": "2025-06-02",
    "stage": "diagnosis",
    "value": "0.4",
    "unit": "ohm",
}
ROWS = {"units": UNIT, "repairs": REPAIR, "readings": READING}


def record(kind, **cells):
    found = validated(KINDS[kind], ROWS[kind] | cells)
    assert not isinstance(found, list), found
    return found


def problems(kind, without=(), **cells):
    row = {k: v for k, v in (ROWS[kind] | cells).items() if k not in without}
    found = validated(KINDS[kind], row)
    assert isinstance(found, list), f"accepted: {found}"
    return [(problem.field, problem.code) for problem in found]


def message(kind, **cells):
    found = validated(KINDS[kind], ROWS[kind] | cells)
    assert isinstance(found, list), f"accepted: {found}"
    return found[0].message


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


@pytest.mark.parametrize(
    ("kind", "field", "good", "bad"),
    [
        ("units", "environment", "coastal", "coast"),
        ("units", "duty", "depot", "taxi"),
        ("units", "connector", "type_2", "type 2"),
        ("units", "supply_connection", "plug", "plugged"),
        ("units", "supply_system", "230_400", "400"),
        ("units", "ground_fault_device", "ccid20;rdc_dd_6", "ccid20;rcd"),
        ("repairs", "symptoms", "handle_hot;burning_smell", "handle_hot;smell"),
        ("repairs", "symptoms_denied", "handle_hot", "handle_hott"),
        ("repairs", "charger_error_codes", "GroundFailure", "groundfailure"),
        ("repairs", "opened_before_arrival", "unknown", "maybe"),
        ("repairs", "intake_findings", "water_inside", "wet"),
        ("repairs", "confirmed_mode", "handle_pilot_open", "pilot_open"),
        ("repairs", "mechanism", "corrosion", "rust"),
        ("repairs", "cause_category", "design", "DES"),
        ("repairs", "disposition", "scrapped", "thrown_away"),
        ("readings", "check", "pilot_continuity", "pilot"),
        ("readings", "stage", "after_repair", "after"),
        ("readings", "condition", "flexed", "bent"),
        ("readings", "outcome", "not_done", "skipped"),
    ],
)
def test_a_code_must_be_in_the_catalogue(kind, field, good, bad):
    assert getattr(record(kind, **{field: good}), field) == good
    assert problems(kind, **{field: bad}) == [(field, "unknown_code")]


def test_the_nearest_code_is_named():
    assert message("repairs", confirmed_mode="handle_pilot_opne") == (
        "`handle_pilot_opne` is no code of the catalogue; `handle_pilot_open` is, "
        "got 'handle_pilot_opne'"
    )


def test_codes_are_trimmed_kept_in_order_and_counted_once():
    cell = " handle_hot ;; burning_smell; handle_hot ; "

    assert record("repairs", symptoms=cell).symptoms == "handle_hot;burning_smell"


@pytest.mark.parametrize(
    ("field", "alone", "other"),
    [
        ("symptoms", "none_reported", "handle_hot"),
        ("intake_findings", "clean", "water_inside"),
    ],
)
def test_the_code_for_nothing_stands_alone(field, alone, other):
    record("repairs", **{field: alone})

    assert problems("repairs", **{field: f"{other};{alone}"}) == [
        (field, "bad_pattern")
    ]


def test_codes_without_a_code_are_a_bad_pattern():
    assert problems("repairs", symptoms=" ; ") == [("symptoms", "bad_pattern")]


def test_a_symptom_cannot_be_reported_and_denied():
    assert problems("repairs", symptoms="handle_hot", symptoms_denied="handle_hot") == [
        ("symptoms_denied", "out_of_range")
    ]


def test_parts_are_a_part_and_a_quantity():
    cell = "P-1*2; cable 5 m*1.5;"

    assert record("repairs", parts_used=cell).parts_used == "P-1*2;cable 5 m*1.5"


def test_a_part_named_twice_was_used_twice():
    assert record("repairs", parts_used="P-1*1;P-1*1").parts_used == "P-1*1;P-1*1"


@pytest.mark.parametrize(
    "cell", ["P-1", "P-1*", "*2", "P-1*0", "P-1*two", "P*1*2", ";"]
)
def test_parts_of_another_form_are_a_bad_pattern(cell):
    assert problems("repairs", parts_used=cell) == [("parts_used", "bad_pattern")]


@pytest.mark.parametrize("field", ["parts_cost", "freight_cost"])
def test_a_cost_needs_its_currency(field):
    found = record("repairs", **{field: "12.50"}, currency="EUR")

    assert getattr(found, field) == Decimal("12.50")
    assert problems("repairs", **{field: "12.50"}) == [("currency", "currency_missing")]


def test_a_cost_of_zero_needs_its_currency_too():
    assert problems("repairs", parts_cost="0") == [("currency", "currency_missing")]


@pytest.mark.parametrize("cell", ["eur", "EURO", "€", "EU"])
def test_a_currency_is_three_capitals(cell):
    assert problems("repairs", currency=cell) == [("currency", "bad_pattern")]


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("-1", "out_of_range"),
        ("10000000000", "out_of_range"),
        ("1.00001", "out_of_range"),
        ("12,50", "not_a_number"),
        ("EUR 5", "not_a_number"),
    ],
)
def test_money_is_an_amount_that_can_be_kept_exactly(cell, code):
    assert problems("repairs", parts_cost=cell, currency="EUR") == [
        ("parts_cost", code)
    ]


@pytest.mark.parametrize("cell", ["-1", "10000.5"])
def test_labour_lies_within_its_bounds(cell):
    assert problems("repairs", labour_minutes=cell) == [
        ("labour_minutes", "out_of_range")
    ]


@pytest.mark.parametrize(
    ("kind", "earlier", "later"),
    [
        ("units", "manufactured_on", "shipped_on"),
        ("units", "shipped_on", "in_service_on"),
        ("units", "manufactured_on", "in_service_on"),
        ("units", "in_service_on", "retired_on"),
        ("units", "manufactured_on", "retired_on"),
        ("repairs", "last_known_good_on", "failed_on"),
        ("repairs", "failed_on", "received_on"),
        ("repairs", "last_known_good_on", "received_on"),
        ("repairs", "received_on", "confirmed_on"),
        ("repairs", "confirmed_on", "closed_on"),
        ("repairs", "received_on", "closed_on"),
    ],
)
def test_days_out_of_order_are_told_at_the_later_field(kind, earlier, later):
    days = {"received_on": "2025-06-01"} if kind == "repairs" else {}
    late = {"failed_on": "2025-05-30", "last_known_good_on": "2025-05-29"}
    if later in ("confirmed_on", "closed_on"):
        late = {}
    days |= {k: v for k, v in late.items() if k == earlier}
    good = days | {earlier: "2025-06-01", later: "2025-06-02"}
    bad = days | {earlier: "2025-06-02", later: "2025-06-01"}
    if earlier == "last_known_good_on" and later == "failed_on":
        good, bad = (d | {"received_on": "2025-07-01"} for d in (good, bad))

    record(kind, **good)
    assert problems(kind, **bad) == [(later, "date_order")]


def test_the_last_good_day_lies_before_the_failure_not_on_it():
    days = {"last_known_good_on": "2025-05-30", "failed_on": "2025-05-30"}

    assert problems("repairs", **days) == [("failed_on", "date_order")]


@pytest.mark.parametrize(
    ("kind", "first", "then"),
    [
        ("units", "shipped_on", "in_service_on"),
        ("repairs", "failed_on", "received_on"),
        ("repairs", "received_on", "closed_on"),
    ],
)
def test_other_days_may_fall_on_one_day(kind, first, then):
    record(kind, **{first: "2025-06-01", then: "2025-06-01"})


def test_the_message_of_a_wrong_order_names_both_days():
    words = message("units", manufactured_on="2025-02-01", shipped_on="2025-01-01")

    assert words == "must not be before manufactured_on 2025-02-01, got '2025-01-01'"


def test_a_day_that_is_wrong_itself_makes_no_second_problem():
    assert problems("units", manufactured_on="soon", shipped_on="2025-01-01") == [
        ("manufactured_on", "not_a_date")
    ]


def test_all_problems_of_a_row_are_told_at_once():
    found = problems(
        "repairs",
        serial="?",
        failed_on="2025-07-01",
        symptoms="nothing",
        parts_cost="1",
        closed_on="2025-05-01",
    )

    assert set(found) == {
        ("serial", "bad_pattern"),
        ("received_on", "date_order"),
        ("symptoms", "unknown_code"),
        ("currency", "currency_missing"),
        # received_on is wrong itself, so closed_on is not compared with it
    }


def test_other_columns_are_no_part_of_a_record():
    assert record("units", colour="red", rejected_row="x", problems="y")
