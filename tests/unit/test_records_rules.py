"""Codes, parts, money and rules between fields of a record."""

from decimal import Decimal

import pytest

from tests.small_rows import message, problems, record


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
