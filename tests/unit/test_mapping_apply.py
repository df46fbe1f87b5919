"""One row through a mapping."""

import pytest

from ingest.errors import FileError
from ingest.mapping import parse_mapping
from ingest.readers.source import NoValue
from ingest.records import KINDS
from ingest.validation import validated


def applied(toml, cells, kind="repairs"):
    return parse_mapping(toml, name="m.toml").apply(cells, KINDS[kind])


def changed(toml, field, cell):
    return parse_mapping(toml, name="m.toml").changes(field)(cell)


def test_a_row_of_a_workshop_becomes_a_record():
    toml = """
    [columns]
    "Return no." = "case_id"
    "Seriennummer" = "serial"
    "Eingang" = "received_on"
    "Meldung" = "symptoms"
    "Arbeit" = "labour_minutes"
    [dates]
    received_on = "%d.%m.%Y"
    [units]
    labour_minutes = "h"
    [codes.symptoms]
    "kein Strom" = "no_power_indication"
    [separators]
    symptoms = ","
    [constants]
    currency = "EUR"
    """
    cells = {
        "Return no.": "R-1", "Seriennummer": "mf-100", "Eingang": "05.03.2026",
        "Meldung": "Kein  Strom, handle_hot", "Arbeit": "1.5",
    }  # fmt: skip

    row = applied(toml, cells)

    assert row == {
        "case_id": "R-1", "serial": "mf-100", "received_on": "2026-03-05",
        "symptoms": "no_power_indication;handle_hot", "labour_minutes": "90",
        "currency": "EUR",
    }  # fmt: skip
    assert not isinstance(validated(KINDS["repairs"], row), list)


def test_columns_that_are_not_mentioned_keep_their_names():
    mapping = parse_mapping('[columns]\nNo = "case_id"', name="m.toml")

    assert mapping.field_names(["No", "serial", "Colour", "rejected_row"]) == {
        "No": "case_id", "serial": "serial", "Colour": "Colour",
        "rejected_row": "rejected_row",
    }  # fmt: skip


def test_a_column_is_found_in_other_capitals_and_blanks():
    mapping = parse_mapping('[columns]\n"Return No" = "case_id"', name="m.toml")

    assert mapping.field_names(["RETURN  no"]) == {"RETURN  no": "case_id"}
    assert mapping.apply({"RETURN  no": "1"}, KINDS["repairs"]) == {"case_id": "1"}


def test_a_column_with_our_name_is_not_taken_for_a_mapped_one_in_capitals():
    mapping = parse_mapping('[columns]\n"SITE" = "region"', name="m.toml")

    assert mapping.field_names(["SITE", "site"]) == {"SITE": "region", "site": "site"}


def test_two_columns_for_one_field_are_refused_until_one_is_left_out():
    toml = '[columns]\n"Serial no" = "serial"'
    columns = ["Serial no", "serial"]

    with pytest.raises(FileError) as error:
        parse_mapping(toml, name="m.toml").field_names(columns, file="jan.csv")

    assert error.value.message == (
        "jan.csv has two columns for serial with m.toml: `Serial no` and `serial`."
    )
    left_out = parse_mapping(f'{toml}\n"serial" = ""', name="m.toml")
    assert left_out.field_names(columns) == {"Serial no": "serial"}
    assert left_out.apply({"serial": "A", "Serial no": "B"}, KINDS["units"]) == {
        "serial": "B"
    }


def test_a_mapped_column_that_is_not_there_is_named_with_the_nearest():
    mapping = parse_mapping('[columns]\n"Lot no" = "production_lot"', name="m.toml")

    with pytest.raises(FileError) as error:
        mapping.field_names(["serial", "Lot no."], file="jan.csv")

    assert error.value.message == (
        "jan.csv has no column `Lot no`, which m.toml maps to production_lot."
    )
    assert error.value.hint.startswith("The nearest column is `Lot no.`.")


def test_a_mapped_column_may_be_missing_where_its_field_is_there_by_our_name():
    mapping = parse_mapping('[columns]\n"Lot no" = "production_lot"', name="m.toml")

    assert mapping.field_names(["production_lot"]) == {
        "production_lot": "production_lot"
    }


def test_a_constant_fills_only_cells_that_are_empty_and_fields_of_the_kind():
    toml = '[constants]\ncurrency = "EUR"\nphases = 3\n[codes.currency]\n"-" = ""'
    mapping = parse_mapping(toml, name="m.toml")

    assert mapping.fields(["case_id"]) == ("case_id", "currency", "phases")
    assert applied(toml, {"case_id": "1"}) == {"case_id": "1", "currency": "EUR"}
    assert applied(toml, {"currency": "CHF"}) == {"currency": "CHF"}
    assert applied(toml, {"currency": "-"}) == {"currency": "EUR"}


@pytest.mark.parametrize(
    "cell", ["2026-03-05", "05/03/2026", "soon", " 2026-03-05 ", "30.02.2026"]
)
def test_a_day_that_is_ours_or_unreadable_is_left_as_it_stands(cell):
    assert changed('[dates]\nreceived_on = "%d.%m.%Y"', "received_on", cell) == cell


def test_times_and_months_are_read_too():
    assert (
        changed('[dates]\ntaken_at = "%d.%m.%Y %H:%M"', "taken_at", "5.3.2026 07:15")
        == "2026-03-05T07:15:00"
    )
    assert changed('[dates]\nmonth = "%m/%Y"', "month", "03/2026") == "2026-03"
    assert (
        changed('[dates]\nshipped_month = "%b %Y"', "shipped_month", "Mar 2026")
        == "2026-03"
    )
    assert (
        changed('[dates]\nreceived_at = "%d.%m.%Y"', "received_at", "5.3.2026")
        == "2026-03-05"
    )


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("25", "7.62"),
        (" 25 ft ", "7.62"),
        ("7.5 m", "7.5"),
        ("300in", "7.62"),
        ("0", "0"),
        ("25 furlongs", "25 furlongs"),
        ("7,5", "7,5"),
        ("long", "long"),
    ],
)
def test_a_number_is_turned_into_the_unit_of_its_field(cell, expected):
    assert changed('[units]\ncable_length_m = "ft"', "cable_length_m", cell) == expected


def test_a_number_already_in_the_unit_of_its_field_keeps_its_digits():
    assert changed('[units]\ncable_length_m = "m"', "cable_length_m", "7.50") == "7.50"


def test_a_division_without_end_is_cut_far_beyond_what_a_field_keeps():
    assert changed('[units]\nminutes = "s"', "minutes", "100") == "1." + "6" * 28 + "7"


def test_a_translated_cell_is_in_our_words_and_not_converted_again():
    toml = (
        '[units]\nconductor_area_mm2 = "cm2"\n'
        '[codes.conductor_area_mm2]\n"10 AWG" = 5.26'
    )

    assert changed(toml, "conductor_area_mm2", "10 awg") == "5.26"
    assert changed(toml, "conductor_area_mm2", "0.06") == "6"


def test_a_list_is_translated_word_by_word_and_the_rest_left_to_the_check():
    toml = """
    [codes.symptoms]
    tot = "no_power_indication"
    "heiß, riecht" = "handle_hot;burning_smell"
    "k.A." = ""
    [separators]
    symptoms = "/"
    """

    assert changed(toml, "symptoms", "tot/offline;k.A.") == (
        "no_power_indication;offline"
    )
    assert changed(toml, "symptoms", "HEISS, riecht / tot") == (
        "handle_hot;burning_smell;no_power_indication"
    )
    assert changed(toml, "symptoms", "k.a.") == ""
    assert changed(toml, "symptoms", "what; else") == "what; else"
    assert changed(toml, "symptoms", " / ") == " / "


def test_words_of_lots_suppliers_and_models_are_translated_as_well():
    toml = '[codes.cable_supplier]\n"ost rel" = "Ostrel"'

    assert changed(toml, "cable_supplier", "OST REL") == "Ostrel"
    assert changed(toml, "cable_supplier", "Westrel") == "Westrel"


def test_truth_values_have_words_and_broken_cells_none():
    toml = '[codes.opened_before_arrival]\n"true" = "yes"\n"#N/A" = "unknown"'

    assert applied(toml, {"opened_before_arrival": True}) == {
        "opened_before_arrival": "yes"
    }
    left = {"opened_before_arrival": False, "serial": True}
    assert applied(toml, left) == left
    broken = {"opened_before_arrival": NoValue("#N/A")}
    assert applied(toml, broken) == broken


def test_a_field_without_a_change_has_none():
    mapping = parse_mapping('[columns]\nNo = "case_id"', name="m.toml")

    assert mapping.changes("case_id") is None
