"""What a mapping file may say, and what its reader says to the rest."""

import pytest

from ingest.errors import FileError, UsageError
from ingest.mapping import parse_mapping, read_mapping

WHOLE = """\
kind = "repairs"
sheet = "Returns"

[columns]
"Return no." = "case_id"
" Seriennr " = "serial"
"Notiz" = ""

[dates]
received_on = ["%d.%m.%Y", "%d.%m.%y"]
closed_on = "%m/%d/%Y"

[units]
labour_minutes = "Stunden"

[codes.symptoms]
"kein Strom" = "no_power_indication"
"k. A." = ""

[separators]
symptoms = ","

[constants]
currency = "EUR"
parts_cost = 0.50
received_on = 2026-03-05
"""


def test_a_mapping_keeps_what_it_says_and_the_text_as_given():
    mapping = parse_mapping(WHOLE, name="m.toml")

    assert (mapping.kind, mapping.sheet) == ("repairs", "Returns")
    assert mapping.columns == {
        "Return no.": "case_id", " Seriennr ": "serial", "Notiz": "",
    }  # fmt: skip
    assert mapping.dates["closed_on"] == ("%m/%d/%Y",)
    assert mapping.units == {"labour_minutes": "h"}
    assert mapping.codes == {
        "symptoms": {"kein Strom": "no_power_indication", "k. A.": ""}
    }
    assert mapping.text == WHOLE


def test_numbers_and_days_of_the_format_become_cells_digit_by_digit():
    mapping = parse_mapping(WHOLE, name="m.toml")

    assert mapping.constants == {
        "currency": "EUR", "parts_cost": "0.50", "received_on": "2026-03-05",
    }  # fmt: skip


def test_an_empty_mapping_says_nothing():
    mapping = parse_mapping("", name="m.toml")

    assert mapping.field_names(["serial", "Colour"]) == {
        "serial": "serial", "Colour": "Colour",
    }  # fmt: skip


def test_a_file_with_a_byte_order_mark_is_read(tmp_path):
    file = tmp_path / "m.toml"
    file.write_text('kind = "units"\n', encoding="utf-8-sig")

    assert read_mapping(file).kind == "units"


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(FileError) as error:
        read_mapping(tmp_path / "m.toml")

    assert error.value.message == (
        f"The mapping {tmp_path / 'm.toml'} cannot be read: No such file or directory."
    )


def test_a_file_in_another_encoding_is_refused_with_the_place(tmp_path):
    file = tmp_path / "m.toml"
    file.write_bytes('"L\xe4nge" = 1'.encode("cp1252"))

    with pytest.raises(FileError, match=r"is not UTF-8: byte 3 is no letter"):
        read_mapping(file)


@pytest.mark.parametrize("text", ["Return no. = 1", "a = ", "[" * 5000, "a=2026-13-01"])
def test_text_that_is_not_toml_is_a_file_error(text):
    with pytest.raises(FileError, match=r"The mapping m\.toml is not TOML"):
        parse_mapping(text, name="m.toml")


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("colums = 1", "has the key `colums`", "nearest known key is `columns`"),
        ('kind = "repair"', "no kind `repair`", "nearest is `repairs`"),
        ("[columns]\na = 1", "`columns.a`: must be text, got 1", "needs quotes"),
        ('[columns]\na.b = "serial"', "`columns.a`: must be text", "holds a dot"),
        ('[columns]\na = "seriall"', "[columns] `a`: there is no field `seriall`",
         "The nearest is `serial`. `mendfleet fields` lists the fields."),
        ('kind = "units"\n[constants]\ncurrency = "EUR"', "field `currency` of units",
         "`mendfleet fields units` lists"),
        ('[columns]\na = "serial"\nb = "serial"', "`a` and `b` are both for serial",
         "Keep the one that counts"),
        ('[dates]\nserial = "%d.%m.%Y"', "[dates] serial: it is no date", "closed_on"),
        ('[dates]\nreceived_on = "%d.%m"', "'%d.%m': it does not hold day, month and",
         "such as `%d.%m.%Y`"),
        ("[dates]\nreceived_on = []", "`dates.received_on`: must not be empty", ""),
        ('[units]\ncable_length_m = "kg"', "the unit must be mm or cm or m or in or ft",
         "Fields with a unit"),
        ('[units]\nserial = "m"', "serial is not kept in a unit", "cable_length_m"),
        ('[units]\nvalue = "mohm"', "[units] value", '`unit = "mohm"` in [constants]'),
        ('[units]\nearth_area_mm2 = "AWG"', "'AWG'", '"10 AWG" = 5.26'),
        ('[codes.symptoms]\na = "handlehot"', "[codes.symptoms] `a` = 'handlehot'",
         "Give a value"),
        ('[codes.symptoms]\na = "offline"\nA = "handle_hot"', "means `offline`", "one"),
        ('[codes.words]\na = "b"', "[codes.words]: there is no field `words`", ""),
        ('[separators]\nserial = ","', "serial = ',': it is no list", "symptoms"),
        ('[separators]\nsymptoms = ""', "symptoms = '': it is empty", "the sign"),
        ("[constants]\nwarranty_months = 300", "must be at most 240, got '300'", ""),
        ("[constants]\nphases = true", "`constants.phases`: must be text", "quotes"),
    ],
)  # fmt: skip
def test_what_no_mapping_can_say_is_refused_with_the_place_and_what_to_do(
    text, message, hint
):
    with pytest.raises(UsageError) as error:
        parse_mapping(text, name="m.toml")

    assert error.value.message.startswith("m.toml")
    assert message in error.value.message
    assert hint in error.value.hint


@pytest.mark.parametrize(
    "code", ["no_power_indication", "no_power_indication;handle_hot"]
)
def test_a_word_may_stand_for_one_code_or_several(code):
    mapping = parse_mapping(f'[codes.symptoms]\na = "{code}"', name="m.toml")

    assert mapping.codes["symptoms"]["a"] == code
