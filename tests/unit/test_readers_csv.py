"""CSV files as they come: separators, quotes, encodings, and rows that are broken."""

import codecs

import pytest

from ingest import readers
from ingest.errors import FileError


def written(folder, content, name="rows.csv"):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def read(path):
    (source,) = readers.read(path)
    return source


def rows(path):
    return list(read(path).rows())


def cells(path):
    return [row.cells for row in rows(path)]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_columns_may_be_separated_by_comma_semicolon_or_tab(tmp_path, delimiter):
    path = written(tmp_path, "a,b\n1,x y\n".replace(",", delimiter))

    assert read(path).columns == ("a", "b")
    assert cells(path) == [{"a": "1", "b": "x y"}]


def test_a_delimiter_inside_quotes_does_not_count(tmp_path):
    path = written(tmp_path, '"a,b,c";d\n1;2\n')

    assert read(path).columns == ("a,b,c", "d")


def test_a_file_of_one_column_needs_no_delimiter(tmp_path):
    assert cells(written(tmp_path, "serial\nU-1\n")) == [{"serial": "U-1"}]


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_lines_may_end_in_any_of_the_three_ways(tmp_path, newline):
    path = written(tmp_path, newline.join(["a,b", "1,2", "3,4"]))

    assert cells(path) == [{"a": "1", "b": "2"}, {"a": "3", "b": "4"}]


def test_a_cell_in_quotes_may_hold_line_breaks_quotes_and_delimiters(tmp_path):
    path = written(tmp_path, 'a,b\n"two\nlines, ""so""",2\n3,4\n')

    assert cells(path) == [
        {"a": 'two\nlines, "so"', "b": "2"},
        {"a": "3", "b": "4"},
    ]


def test_rows_are_counted_as_a_spreadsheet_does(tmp_path):
    path = written(tmp_path, 'a\n"two\nlines"\n\n3\n')

    assert [row.row_no for row in rows(path)] == [2, 4]


def test_an_empty_or_blank_cell_is_left_out_and_a_row_of_them_is_no_row(tmp_path):
    path = written(tmp_path, "a,b\n1,\n ,2\n,\n\n")

    assert cells(path) == [{"a": "1"}, {"b": "2"}]


def test_a_row_of_blanks_is_still_a_row_if_a_cell_holds_something(tmp_path):
    assert cells(written(tmp_path, "a,b\n , x\n")) == [{"b": " x"}]


def test_a_short_row_leaves_its_last_cells_unrecorded(tmp_path):
    assert cells(written(tmp_path, "a,b,c\n1\n")) == [{"a": "1"}]


def test_a_header_alone_has_columns_and_no_rows(tmp_path):
    path = written(tmp_path, "a,b\n")

    assert read(path).columns == ("a", "b")
    assert rows(path) == []


def test_blank_lines_before_the_header_are_passed_over(tmp_path):
    path = written(tmp_path, "\n\na,b\n1,2\n")

    assert [(row.row_no, row.cells) for row in rows(path)] == [
        (4, {"a": "1", "b": "2"})
    ]


@pytest.mark.parametrize(
    "encoding",
    ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"],
)
def test_letters_come_out_right_in_each_encoding(tmp_path, encoding):
    path = written(tmp_path, "site,region\nKöln,5 €\n".encode(encoding))

    assert read(path).columns == ("site", "region")
    assert cells(path) == [{"site": "Köln", "region": "5 €"}]


def test_utf_16_of_either_byte_order_is_told_by_its_mark(tmp_path):
    text = codecs.BOM_UTF16_BE + "site\nKöln\n".encode("utf-16-be")

    assert cells(written(tmp_path, text)) == [{"site": "Köln"}]


def test_in_a_utf_8_file_only_the_rows_that_do_not_decode_are_set_aside(tmp_path):
    path = written(tmp_path, b"site,region\nK\xc3\xb6ln,a\nK\xf6ln,b\nBonn,c\n")

    good, bad, last = rows(path)

    assert good.cells == {"site": "Köln", "region": "a"}
    assert last.problem is None
    assert (bad.problem.field, bad.problem.code) == ("site", "bad_encoding")
    assert bad.cells == {"site": r"K\xf6ln", "region": "b"}


def test_without_any_letter_of_utf_8_the_file_is_windows_1252(tmp_path):
    path = written(tmp_path, b"site\nK\xf6ln\nD\xfcren\n")

    assert cells(path) == [{"site": "Köln"}, {"site": "Düren"}]


def test_a_byte_that_windows_1252_does_not_have_sets_its_row_aside(tmp_path):
    bad, good = rows(written(tmp_path, b"site\nK\x81ln\nD\xfcren\n"))

    assert bad.problem.code == "bad_encoding"
    assert bad.cells == {"site": r"K\x81ln"}
    assert good.cells == {"site": "Düren"}


def test_half_a_letter_of_utf_16_sets_its_row_aside(tmp_path):
    text = "site\nA".encode("utf-16-le") + b"\x00\xd8" + "\nB\n".encode("utf-16-le")

    bad, good = rows(written(tmp_path, codecs.BOM_UTF16_LE + text))

    assert bad.problem.code == "bad_encoding"
    assert good.cells == {"site": "B"}


def test_a_bad_byte_in_a_cell_without_column_is_told_at_the_last_column(tmp_path):
    (bad,) = rows(written(tmp_path, "a,b\n1,ö,".encode() + b"\xf6\n"))

    assert (bad.problem.field, bad.problem.code) == ("b", "bad_encoding")
    assert bad.cells == {"a": "1", "b": "ö", "extra_cell_1": r"\xf6"}


def test_a_row_with_more_cells_than_the_header_is_malformed_and_kept_whole(tmp_path):
    bad, good = rows(written(tmp_path, "a,b\n1,2,3,4\n5,6\n"))

    assert (bad.problem.field, bad.problem.code) == ("extra_cell_1", "malformed_row")
    assert bad.problem.message == "the header has 2 columns, this row 4"
    assert bad.cells == {"a": "1", "b": "2", "extra_cell_1": "3", "extra_cell_2": "4"}
    assert good.cells == {"a": "5", "b": "6"}


def test_a_row_whose_quotes_do_not_match_is_malformed_and_kept_whole(tmp_path):
    bad, good = rows(written(tmp_path, 'a,b\n"6" pipe",2\n3,4\n'))

    assert bad.problem.code == "malformed_row"
    assert bad.cells == {"a": '"6" pipe",2\n'}
    assert good.cells == {"a": "3", "b": "4"}


def test_a_quote_that_is_never_closed_sets_the_rest_aside_whole(tmp_path):
    good, bad = rows(written(tmp_path, 'a,b\n1,2\n"3,4\n5,6\n'))

    assert good.problem is None
    assert bad.problem.code == "malformed_row"
    assert bad.cells == {"a": '"3,4\n5,6\n'}


@pytest.mark.parametrize("content", [b"", b"\n\n", b"  \n"])
def test_a_file_without_a_header_is_empty(tmp_path, content):
    with pytest.raises(FileError, match="is empty"):
        read(written(tmp_path, content))


@pytest.mark.parametrize(
    "content", [bytes(range(256)), b"PK\x03\x04\x00\x00\x01\xff" * 9, b"PAR1\x00\x15"]
)
def test_bytes_that_are_no_text_are_refused(tmp_path, content):
    with pytest.raises(FileError, match="is not a text file"):
        read(written(tmp_path, content))


def test_two_columns_of_one_name_are_refused(tmp_path):
    with pytest.raises(FileError, match="has the column `a` more than once"):
        read(written(tmp_path, "a,b, a\n1,2,3\n"))


def test_a_header_with_a_broken_quote_is_refused(tmp_path):
    with pytest.raises(FileError, match="has a header whose quotes do not match"):
        read(written(tmp_path, '"a,b\n1,2\n'))


def test_a_column_without_a_name_is_called_by_its_place(tmp_path):
    path = written(tmp_path, "a,,c,\n1,2,3\n")

    assert read(path).columns == ("a", "column 2", "c")
    assert cells(path) == [{"a": "1", "column 2": "2", "c": "3"}]
