"""Laws of mappings: a row is renamed, changed and filled; a draft is always valid."""

import datetime as dt
import json
import tempfile
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest import readers
from ingest.errors import FileError, UserError
from ingest.mapping import (
    mapping_lines,
    parse_mapping,
    spelling_variants,
    suggest_mapping,
)
from ingest.mapping.dates import read_date, why_no_format
from ingest.measures import convert, to_field_unit
from ingest.records import KINDS

COLUMNS = ["Return no.", "Seriennummer", "Eingang", "Symptome", "Arbeit", "site", "x"]
MAPPING = """
[columns]
"Return no." = "case_id"
"Seriennummer" = "serial"
"Eingang" = "received_on"
"Symptome" = "symptoms"
"Arbeit" = "labour_minutes"
x = ""
[dates]
received_on = ["%d.%m.%Y", "%m/%d/%Y"]
[units]
labour_minutes = "h"
[codes.symptoms]
tot = "no_power_indication"
"k.A." = ""
[codes.serial]
"MF 1" = "MF-1"
[separators]
symptoms = ","
[constants]
currency = "EUR"
received_on = 2026-01-01
"""
CELLS = st.sampled_from(
    ["tot", "TOT,handle_hot", "k.A.", "05.03.2026", "3/5/2026", "2026-03-05", "1.5",
     "90 min", "MF 1", "mf  1", ";", ","]
) | st.text(min_size=1, max_size=8)  # fmt: skip


@given(st.dictionaries(st.sampled_from(COLUMNS), CELLS))
def test_a_row_is_renamed_changed_and_filled_and_nothing_else(cells):
    mapping = parse_mapping(MAPPING, name="m.toml")
    names = mapping.field_names(COLUMNS)

    expected = dict(mapping.constants)
    for column, cell in cells.items():
        change = mapping.changes(names.get(column, "")) or str
        if column in names and (changed := change(cell)):
            expected[names[column]] = changed

    assert mapping.apply(cells, KINDS["repairs"]) == expected


@given(st.text(max_size=12))
def test_a_cell_that_no_line_is_about_is_left_as_it_stands(cell):
    mapping = parse_mapping('[codes.symptoms]\n"a word" = "offline"', name="m.toml")

    if cell.strip() and "word" not in cell.casefold():
        assert mapping.changes("symptoms")(cell) == cell


@given(
    st.dates(dt.date(1970, 1, 1), dt.date(2068, 12, 31)),
    st.sampled_from(["%d.%m.%Y", "%m/%d/%y", "%Y%m%d", "%d %b %Y", "%A, %d.%m.%Y"]),
)
def test_a_day_written_in_a_format_is_read_back(day, text):
    assert why_no_format(text, "day") is None
    assert read_date(day.strftime(text), [text], "day") == day.isoformat()


@given(
    st.text(max_size=12)
    | st.lists(st.sampled_from([*"./- ", "%d", "%m", "%Y", "%y", "%H", "%M"])).map(
        "".join
    ),
    st.sampled_from(["day", "month", "moment"]),
)
def test_a_format_that_is_let_in_never_turns_a_day_of_ours_into_another(text, form):
    if why_no_format(text, form) is None:
        found = read_date("2026-03-05", [text], form)
        assert found in (None, "2026-03-05", "2026-03")


AMOUNTS = st.decimals(0, 10**9, allow_nan=False, places=6)


@pytest.mark.parametrize(
    ("unit", "field", "factor"),
    [
        # NIST SP 811, appendix B.8 (from memory): in 2.54 E-02 m, ft 3.048 E-01 m,
        # kWh 3.6 E+06 J; prefixes and the rest as defined.
        ("in", "cable_length_m", "0.0254"),
        ("ft", "cable_length_m", "0.3048"),
        ("mm", "cable_length_m", "0.001"),
        ("cm2", "conductor_area_mm2", "100"),
        ("h", "labour_minutes", "60"),
        ("year", "warranty_months", "12"),
        ("Wh", "energy_kwh", "0.001"),
        ("mA", "rated_current_a", "0.001"),
    ],
)
@given(value=AMOUNTS)
def test_a_conversion_with_an_end_is_exact_to_the_last_digit(
    unit, field, factor, value
):
    converted = to_field_unit(value, unit, field)

    assert Fraction(converted) == Fraction(value) * Fraction(factor)


@given(
    AMOUNTS,
    st.sampled_from(
        [("mV", "V"), ("mohm", "Mohm"), ("uA", "A"), ("ms", "s"), ("kHz", "Hz")]
    ),
)
def test_there_and_back_is_where_it_began(value, units):
    one, other = units

    assert convert(convert(value, one, other), other, one) == value


@given(AMOUNTS, st.sampled_from(["J", "kJ", "MJ"]))
def test_joules_and_kilowatt_hours_agree_to_59_digits(value, unit):
    joules = {"J": 1, "kJ": 1000, "MJ": 1_000_000}[unit]
    exact = Fraction(value) * joules / 3_600_000

    found = Fraction(to_field_unit(value, unit, "energy_kwh"))

    assert abs(found - exact) <= exact / 10**59


@given(st.decimals(-100, 200, allow_nan=False, places=3))
def test_fahrenheit_becomes_celsius_by_its_definition(value):
    exact = (Fraction(value) - 32) * 5 / 9
    found = Fraction(to_field_unit(value, "°F", "ambient_c"))

    assert abs(found - exact) <= abs(exact) / 10**59


NAMES = st.sampled_from(
    ["serial", "Serial no", "SERIAL NO", "serial no ", "Seriennummer", "model", "Typ",
     "Case no", "received_on", "Eingang", "Kabellänge [ft]", "Cable length (cm)",
     "Symptome", "Messwert [mΩ]", "Month", "Menge", "Kosten (EUR)", "Währung", "#",
     'a"b', "a\\b", "two\nlines", "Zustand", "Prüfung", "\x7f", "'''"]
) | st.text(max_size=6)  # fmt: skip
SAMPLED = st.sampled_from(
    ["", "U-1", "MF-2", "05.03.2026", "03/05/2026 10:15", "2026-03", "03/2026", "7,5",
     "25 ft", "10 AWG", "EUR", "kein Strom", "kein Stromm", "tot, heiß", "ja", "TRUE",
     "innen", "Küste", "handle_hot", 'quo"te', "#", "\\", "line\nbreak", "0", "1"]
) | st.text(max_size=6)  # fmt: skip


@st.composite
def tables(draw):
    names = draw(st.lists(NAMES, min_size=1, max_size=6, unique=True))
    row = st.fixed_dictionaries(dict.fromkeys(names, SAMPLED))
    return draw(st.lists(row, min_size=1, max_size=5))


@settings(max_examples=200, deadline=None)
@given(tables(), st.sampled_from([None, *KINDS]))
def test_a_draft_is_a_mapping_that_fits_its_file_and_maps_no_field_twice(table, kind):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "file.json"
        file.write_text(json.dumps(table), encoding="utf-8")
        try:
            (source,) = readers.read(file)
        except FileError:  # not about drafts: two columns of one name, no columns
            return
        text = suggest_mapping(file, kind=kind)
        mapping = parse_mapping(text, name="draft")
        rows = list(source.rows())

    mapped = Counter(field for field in mapping.columns.values() if field)
    assert max(mapped.values(), default=1) == 1
    names = mapping.field_names(source.columns)
    assert len(set(names.values())) == len(names)
    spec = KINDS[mapping.kind or "units"]
    for row in rows:
        assert set(mapping.apply(row.cells, spec)) <= {*names.values(), *spec.fields}


TOML_VALUES = st.recursive(
    st.sampled_from(
        ['"serial"', '"%d.%m.%Y"', '"%"', '"ft"', '""', "5", "7.5", "true", "nan",
         "2026-03-05", "0x" + "f" * 5000]
    ),
    lambda inner: st.lists(inner, max_size=2).map(lambda some: f"[{', '.join(some)}]")
    | inner.map(lambda one: f"{{serial = {one}}}"),
)  # fmt: skip
TOML_LINES = st.one_of(
    st.tuples(
        st.sampled_from(
            ["kind", "sheet", "columns", "columns.x", "dates.received_on",
             "dates.serial", "units.cable_length_m", "codes.symptoms.x", "codes.x",
             "separators.symptoms", "constants.phases", "other"]
        ),
        TOML_VALUES,
    ).map(" = ".join),
    st.text(max_size=10),
)  # fmt: skip


def or_refusal(make):
    """Return what is made, or the error in words; any other error is a fault."""
    try:
        return make()
    except UserError as error:
        return error


@given(st.lists(TOML_LINES, max_size=4).map("\n".join))
def test_whatever_stands_in_a_mapping_file_is_read_or_refused_in_words(text):
    mapping = or_refusal(lambda: parse_mapping(text, name="m.toml"))

    assert mapping.hint if isinstance(mapping, UserError) else mapping.text == text


@settings(deadline=None)
@given(
    st.binary(max_size=200),
    st.sampled_from([".csv", ".json", ".xlsx", ".parquet", ".zip", ".gz"]),
)
def test_whatever_is_in_a_file_is_drafted_or_refused_in_words(content, suffix):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / f"file{suffix}"
        file.write_bytes(content)
        text = or_refusal(lambda: suggest_mapping(file))

    assert isinstance(text, UserError) or parse_mapping(text, name="").text == text


VALUES = st.text("Oo0Il1L23 -_.abX", min_size=1, max_size=8)


@given(st.dictionaries(VALUES, st.integers(1, 100), max_size=12))
def test_spellings_offered_as_one_never_differ_in_a_digit(values):
    digit_for = str.maketrans({"O": "0", "o": "0", "I": "1", "i": "1", "l": "1"})
    for group in spelling_variants(values):
        # Only the digits 2 and 3 look like no letter of the values.
        sure = {
            tuple(sign for sign in value.translate(digit_for) if sign in "23")
            for value in group.counts
        }
        assert len(sure) == 1
        assert group.counts[group.proposed] == max(group.counts.values())


@given(st.dictionaries(VALUES, st.integers(1, 100), max_size=12))
def test_each_value_is_in_one_group_and_the_offered_lines_give_it_that_spelling(values):
    groups = spelling_variants(values)
    members = [value for group in groups for value in group.counts]

    assert len(members) == len(set(members))
    lines = mapping_lines("production_lot", *groups)
    change = parse_mapping(lines, name="m.toml").changes("production_lot")
    for group in groups:
        for value in group.counts:
            assert (change(value) if change else value).strip() == (
                group.proposed.strip()
            )
