"""XLSX: which sheets are read, and cells as spreadsheets really write them."""

import datetime as dt
import zipfile

import openpyxl
import pytest
import xlsxwriter

from ingest.errors import FileError
from ingest.readers import read, source, xlsx_file
from ingest.readers.source import NoValue


def workbook(folder, *sheets, hidden=()):
    path = folder / "rows.xlsx"
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, table in sheets:
        sheet = book.create_sheet(title)
        sheet.sheet_state = "hidden" if title in hidden else "visible"
        for row in table:
            sheet.append(row)
    book.save(path)
    return path


def rewritten(path, old, new):
    """Replace bytes in the first sheet of a workbook."""
    target = path.with_name("rewritten.xlsx")
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(target, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            if name == "xl/worksheets/sheet1.xml":
                assert old in content
                content = content.replace(old, new)
            after.writestr(name, content)
    return target


def cells(path, sheet=None):
    (opened,) = read(path, sheet=sheet)
    return [row.cells for row in opened.rows()]


def test_each_visible_sheet_with_rows_is_a_source_of_its_own(tmp_path):
    path = workbook(
        tmp_path,
        ("Empty", []),
        ("Rows", [["a"], [1], [2]]),
        ("Old", [["a"], [3]]),
        ("Notes", [[None], ["b"], [4]]),
        hidden=["Old"],
    )

    rows, notes = read(path)

    assert (rows.sheet, rows.columns, rows.total) == ("Rows", ("a",), 2)
    assert (notes.sheet, notes.columns, notes.total) == ("Notes", ("b",), 1)
    assert [row.cells for row in rows.rows()] == [{"a": "1"}, {"a": "2"}]
    assert [(row.row_no, row.cells) for row in notes.rows()] == [(3, {"b": "4"})]
    assert (rows.notices, notes.notices) == ((), ())


def test_a_sheet_that_is_named_is_the_only_one_and_may_be_hidden(tmp_path):
    path = workbook(
        tmp_path, ("Rows", [["a"], [1]]), ("Old", [["a"], [3]]), hidden=["Old"]
    )

    assert cells(path, "Rows") == [{"a": "1"}]
    assert cells(path, "Old") == [{"a": "3"}]


def test_a_sheet_that_is_not_there_is_refused_with_the_list_of_those_there(tmp_path):
    path = workbook(tmp_path, ("Rows", [["a"], [1]]), ("Notes", [["b"]]))

    with pytest.raises(FileError, match="has no sheet `rows`") as caught:
        read(path, sheet="rows")
    assert caught.value.hint == "Its sheets are `Rows`, `Notes`."


def test_a_named_sheet_without_a_filled_cell_is_empty(tmp_path):
    path = workbook(tmp_path, ("Rows", [["a"], [1]]), ("Empty", []))

    with pytest.raises(FileError, match=r"The sheet `Empty` of .* is empty"):
        read(path, sheet="Empty")


def test_a_format_without_sheets_takes_no_notice_of_the_name(tmp_path):
    path = tmp_path / "rows.csv"
    path.write_text("a\n1\n")

    assert cells(path, "Rows") == [{"a": "1"}]
    assert read(path)[0].sheet is None


def test_a_sheet_with_two_columns_of_one_name_is_told_beside_the_others(tmp_path):
    path = workbook(tmp_path, ("Rows", [["a"], [1]]), ("Twice", [["b", "b"], [1, 2]]))

    (rows,) = read(path)

    assert rows.sheet == "Rows"
    assert rows.notices == (
        (
            f"sheet `Twice` was not read: {path}, sheet `Twice`, has the column `b` "
            "more than once."
        ),
    )
    with pytest.raises(FileError, match="sheet `Twice`, has the column `b` more than"):
        read(path, sheet="Twice")


def test_a_formula_without_result_is_told_of_its_own_sheet_only(tmp_path):
    path = workbook(
        tmp_path, ("Rows", [["a"], [1]]), ("Sums", [["b", "c"], [1, "=1+1"]])
    )

    rows, sums = read(path)

    assert rows.notices == ()
    assert "a formula has no saved result" in sums.notices[0]


@pytest.mark.parametrize("from_1904", [False, True])
def test_days_and_times_come_out_in_iso_form(tmp_path, from_1904):
    path = tmp_path / "rows.xlsx"
    with xlsxwriter.Workbook(path, {"date_1904": from_1904}) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["on", "at", "time"])
        german = book.add_format({"num_format": "dd.mm.yyyy"})
        with_time = book.add_format({"num_format": "d/m/yy h:mm:ss"})
        clock = book.add_format({"num_format": "hh:mm"})
        sheet.write_datetime(1, 0, dt.date(2026, 2, 28), german)
        at = dt.datetime.fromisoformat("2026-02-28T16:07:41")
        sheet.write_datetime(1, 1, at, with_time)
        sheet.write_datetime(1, 2, dt.time(6, 45), clock)

    assert cells(path) == [
        {"on": "2026-02-28", "at": "2026-02-28T16:07:41", "time": "06:45:00"}
    ]


def test_numbers_stored_as_text_keep_what_was_typed(tmp_path):
    path = tmp_path / "rows.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["lot", "length", "cost"])
        # With the little green corner: a leading zero, a decimal comma, an apostrophe.
        sheet.write_string(1, 0, "00123")
        sheet.write_string(1, 1, "7,50")
        sheet.write_string(1, 2, "12", book.add_format({"quote_prefix": True}))

    assert cells(path) == [{"lot": "00123", "length": "7,50", "cost": "12"}]


def test_a_day_that_no_calendar_has_is_a_cell_that_no_field_takes(tmp_path):
    path = tmp_path / "rows.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write(0, 0, "shipped_on")
        sheet.write_number(1, 0, -5e9, book.add_format({"num_format": "yyyy-mm-dd"}))

    assert cells(path) == [{"shipped_on": NoValue("#VALUE!")}]


@pytest.mark.parametrize(
    ("stored", "text"),
    [
        (b"two_x000D_\nlines", "two\r\nlines"),
        (b"a_x0002_b", "a\x02b"),
        (b"_x005F_x0002_", "_x0002_"),
        (b"_x0041_ _xD800_ _x005F_", "_x0041_ _xD800_ _x005F_"),
    ],
)
def test_letters_that_xml_does_not_have_are_read_back(tmp_path, stored, text):
    # ECMA-376 Part 1, 22.9.2.19 (ST_Xstring), from memory: _xHHHH_ is the letter of
    # that number, and _x005F_ the underscore before what only looks like one.
    path = workbook(tmp_path, ("Rows", [["a"], ["STORED"]]))

    path = rewritten(path, b"STORED", stored)

    assert cells(path) == [{"a": text}]


def test_a_letter_that_xml_does_not_have_is_read_back_from_shared_text(tmp_path):
    path = tmp_path / "rows.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write_string(0, 0, "a")
        sheet.write_string(1, 0, "a\x02b")
    with zipfile.ZipFile(path) as parts:
        assert b"a_x0002_b" in parts.read("xl/sharedStrings.xml")

    assert cells(path) == [{"a": "a\x02b"}]


def test_a_row_number_that_no_sheet_has_is_refused(tmp_path):
    path = workbook(tmp_path, ("Rows", [["a"], [1]]))

    (opened,) = read(rewritten(path, b'<row r="2"', b'<row r="99999999999"'))

    with pytest.raises(FileError, match="is not a workbook that can be read"):
        list(opened.rows())


def test_a_workbook_out_of_all_proportion_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(source, "ABSURD_SIZE", 10_000)
    monkeypatch.setattr(source, "ABSURD_RATIO", 2)
    path = workbook(tmp_path, ("Rows", [["a"], *([1] for _ in range(2000))]))

    with pytest.raises(FileError, match=r"bytes and unpacks to \d+"):
        read(path)


def test_rows_come_in_order_across_the_blocks_they_are_read_in(tmp_path, monkeypatch):
    monkeypatch.setattr(xlsx_file, "ROWS_AT_ONCE", 3)
    path = workbook(tmp_path, ("Rows", [["a"], *([n] for n in range(10))]))

    assert cells(path) == [{"a": str(n)} for n in range(10)]


def test_a_workbook_that_may_not_be_read_is_said_to_be_so(tmp_path, monkeypatch):
    path = workbook(tmp_path, ("Rows", [["a"], [1]]))

    def refuse(*_args, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(zipfile, "ZipFile", refuse)

    with pytest.raises(FileError, match="cannot be read: Permission denied"):
        read(path)
