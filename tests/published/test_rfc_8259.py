r"""The JSON of RFC 8259 through our reader: its examples and what it does not permit.

Data    T. Bray (ed.), The JavaScript Object Notation (JSON) Data Interchange Format,
        RFC 8259 (December 2017): the object and the array of section 13; rules of
        sections 2, 4, 6 and 8.
Values  The members of the examples. A number keeps the digits printed there.
Read    2026-11-27: section 13 and "Leading zeros are not allowed" (section 6). The
        other rules from memory, each marked so.
Digits  Character for character.
"""

import codecs
import json

import pytest

from ingest import readers

IMAGE = """
      {
        "Image": {
            "Width":  800,
            "Height": 600,
            "Title":  "View from 15th Floor",
            "Thumbnail": {
                "Url":    "http://www.example.com/image/481989943",
                "Height": 125,
                "Width":  100
            },
            "Animated" : false,
            "IDs": [116, 943, 234, 38793]
          }
      }
"""
PLACES = """
      [
        {
           "precision": "zip",
           "Latitude":  37.7668,
           "Longitude": -122.3959,
           "Address":   "",
           "City":      "SAN FRANCISCO",
           "State":     "CA",
           "Zip":       "94107",
           "Country":   "US"
        },
        {
           "precision": "zip",
           "Latitude":  37.371991,
           "Longitude": -122.026020,
           "Address":   "",
           "City":      "SUNNYVALE",
           "State":     "CA",
           "Zip":       "94085",
           "Country":   "US"
        }
      ]
"""


def rows(tmp_path, text, name="rows.jsonl"):
    path = tmp_path / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    (source,) = readers.read(path)
    return list(source.rows())


def test_the_object_of_section_13_is_one_row_with_its_member_as_json(tmp_path):
    # Read by line the object has to stand in one: blanks between its parts are free.
    line = " ".join(IMAGE.split())

    (row,) = rows(tmp_path, line)
    (element,) = rows(tmp_path, f"[{IMAGE}]", "rows.json")

    assert row.cells == element.cells
    assert row.cells["Image"] == (
        '{"Width":800,"Height":600,"Title":"View from 15th Floor","Thumbnail":'
        '{"Url":"http://www.example.com/image/481989943","Height":125,"Width":100},'
        '"Animated":false,"IDs":[116,943,234,38793]}'
    )
    assert json.loads(row.cells["Image"]) == json.loads(IMAGE)["Image"]


def test_the_array_of_section_13_is_two_rows(tmp_path):
    first, second = rows(tmp_path, PLACES, "rows.json")

    # The empty address is not recorded; -122.026020 keeps its last nought.
    assert first.cells == {
        "precision": "zip", "Latitude": "37.7668", "Longitude": "-122.3959",
        "City": "SAN FRANCISCO", "State": "CA", "Zip": "94107", "Country": "US",
    }  # fmt: skip
    assert second.cells == {
        "precision": "zip", "Latitude": "37.371991", "Longitude": "-122.026020",
        "City": "SUNNYVALE", "State": "CA", "Zip": "94085", "Country": "US",
    }  # fmt: skip


@pytest.mark.parametrize(
    "value",
    [
        "012",  # section 6: "Leading zeros are not allowed."
        "-01",
        "NaN",  # section 6, from memory: Infinity and NaN are not permitted
        "Infinity",
        "-Infinity",
        ".5",  # section 6, from memory: an integer part, and digits after the point
        "5.",
        "+1",
        "0x1F",
        "True",  # section 3, from memory: the literal names are lower case
        "'text'",  # section 7, from memory: quotation marks
        '"a\tb"',  # section 7, from memory: control characters are escaped
        r'"\x41"',
    ],
)
def test_what_the_grammar_does_not_permit_sets_its_row_aside(tmp_path, value):
    bad, good = rows(tmp_path, f'{{"a": {value}}}\n{{"a": 0}}\n')

    assert bad.problem.code == "malformed_row"
    assert bad.cells == {"a": f'{{"a": {value}}}'}
    assert good.cells == {"a": "0"}


@pytest.mark.parametrize(
    "value",
    ["0", "-0", "0.5", "-12.50", "1e5", "1E+05", "1.0e-7", "123456789012345678"],
)
def test_numbers_of_the_grammar_keep_their_digits(tmp_path, value):
    # Erratum 7600 to section 6: a nought stands before the point, and in an exponent.
    (row,) = rows(tmp_path, f'{{"a": {value}}}')

    assert row.cells == {"a": value}


def test_a_name_that_stands_twice_sets_its_row_aside(tmp_path):
    # Section 4, from memory: "The names within an object SHOULD be unique." Which of
    # two counts is not for us to say.
    bad, good = rows(tmp_path, '{"a": 1, "a": 1}\n{"a": 1}')

    assert bad.problem.code == "malformed_row"
    assert good.cells == {"a": "1"}


@pytest.mark.parametrize("blank", [" ", "\t", "\r", "\n"])
def test_the_four_blanks_may_stand_between_all_parts(tmp_path, blank):
    # Section 2, from memory: space, horizontal tab, line feed, carriage return.
    parts = ["[", "{", '"a"', ":", "[", "1", ",", "2", "]", "}", "]"]
    text = blank.join(["", *parts, ""])

    (row,) = rows(tmp_path, text, "rows.json")

    assert row.cells == {"a": "1;2"}


def test_escapes_give_the_letter_they_stand_for(tmp_path):
    # Section 7, from memory: the G clef is written \uD834\uDD1E.
    (row,) = rows(tmp_path, r'{"a": "\uD834\uDD1E \u005C \/ \" \n"}')

    assert row.cells == {"a": '\U0001d11e \\ / " \n'}


def test_a_byte_order_mark_is_passed_over(tmp_path):
    # Section 8.1, from memory: a parser may ignore it rather than treat it as an error.
    (row,) = rows(tmp_path, codecs.BOM_UTF8 + b'{"a": "\xc3\xa4"}')

    assert row.cells == {"a": "ä"}
