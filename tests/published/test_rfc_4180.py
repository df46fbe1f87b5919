r"""The CSV of RFC 4180, section 2, through our reader.

Data    Y. Shafranovich, Common Format and MIME Type for CSV Files, RFC 4180
        (October 2005), section 2, rules 1 to 7 with the examples printed there.
Values  The fields of each example; `CRLF` in the text stands for the two bytes.
Read    2026-11-27, from a copy of the section's text.
Digits  Character for character.
"""

import pytest

from ingest import readers

TWO = [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]
HEADER = "field_1,field_2,field_3\r\n"


def records(tmp_path, text):
    path = tmp_path / "rows.csv"
    path.write_bytes(text.encode("ascii"))
    (source,) = readers.read(path)
    rows = list(source.rows())
    assert [row.problem for row in rows] == [None] * len(rows)
    return source.columns, [tuple(row.cells.values()) for row in rows]


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        # Rule 1: each record on a line of its own.
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", TWO),
        # Rule 2: the last one may lack its line break.
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx", TWO),
        # Rule 4: fields are separated by commas.
        ("aaa,bbb,ccc", [("aaa", "bbb", "ccc")]),
        # Rule 5: a field may be enclosed in double quotes or not.
        (
            '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
            TWO,
        ),
        # Rule 6: line breaks, double quotes and commas stand inside quotes.
        (
            '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
            [("aaa", "b\r\nbb", "ccc"), ("zzz", "yyy", "xxx")],
        ),
        # Rule 7: a double quote inside a field is written twice.
        ('"aaa","b""bb","ccc"', [("aaa", 'b"bb', "ccc")]),
    ],
)
def test_the_examples_give_their_fields(tmp_path, text, fields):
    _, found = records(tmp_path, HEADER + text)

    assert found == fields


def test_the_first_line_may_name_the_fields(tmp_path):
    # Rule 3. The example's three equal names are made different: two columns of one
    # name are refused here.
    columns, found = records(tmp_path, HEADER + "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n")

    assert columns == ("field_1", "field_2", "field_3")
    assert found == TWO


def test_spaces_are_part_of_a_field(tmp_path):
    # Rule 4: "Spaces are considered part of a field and should not be ignored."
    _, found = records(tmp_path, HEADER + " aaa ,bbb , c c")

    assert found == [(" aaa ", "bbb ", " c c")]
