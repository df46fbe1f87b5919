"""Typed cells as the text they stand for; one sheet of a workbook; what is refused."""

import datetime as dt
import zipfile
from decimal import Decimal

import openpyxl
import pytest
import xlsxwriter

from ingest import readers
from ingest.errors import FileError
from ingest.readers import READERS
from ingest.readers.source import NoValue, as_cell


def workbook(folder, *sheets, name="rows.xlsx"):
    path = folder / name
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, table in sheets:
        sheet = book.create_sheet(title)
        for row in table:
            sheet.append(row)
    book.save(path)
    return path


def read(path):
    (source,) = readers.read(path)
    return source


def rows(path):
    return list(read(path).rows())


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        (None, ""),
        ("", ""),
        ("  ", ""),
        (" x ", " x "),
        (12, "12"),
        (12.0, "12"),
        (0.1 + 0.2, "0.3"),
        (1e-05, "1e-05"),
        (float("nan"), ""),
        (Decimal("1.50"), "1.50"),
        (True, True),
        (dt.date(2026, 1, 2), "2026-01-02"),
        (dt.datetime.fromisoformat("2026-01-02"), "2026-01-02"),
        (dt.datetime.fromisoformat("2026-01-02T10:30"), "2026-01-02T10:30:00"),
        (dt.datetime(2026, 1, 2, tzinfo=dt.UTC), "2026-01-02T00:00:00+00:00"),
        (dt.time(10, 30), "10:30:00"),
        (["handle_hot", "humming"], "handle_hot;humming"),
        ("#N/A", NoValue("#N/A")),
        (b"K\xf6ln", NoValue(r"K\xf6ln")),
        (NoValue("a date32 beyond"), NoValue("a date32 beyond")),
        ([["a"], 1], '[["a"], 1]'),
        (
            {"on": dt.date(2026, 1, 2), "site": "Köln"},
            '{"on": "2026-01-02", "site": "Köln"}',
        ),
    ],
)
def test_a_value_becomes_the_text_it_stands_for(value, cell):
    assert as_cell(value) == cell


def test_the_text_of_no_value_is_what_stood_there():
    assert str(NoValue("#N/A")) == "#N/A"


def test_a_workbook_gives_dates_numbers_texts_and_truth_values(tmp_path):
    path = workbook(
        tmp_path,
        (
            "Rows",
            [
                ["serial", "shipped_on", "length", "flag"],
                ["U-1", dt.date(2025, 1, 2), 7.5, True],
                [123, None, 5, None],
            ],
        ),
    )

    assert read(path).columns == ("serial", "shipped_on", "length", "flag")
    assert [row.cells for row in rows(path)] == [
        {"serial": "U-1", "shipped_on": "2025-01-02", "length": "7.5", "flag": True},
        {"serial": "123", "length": "5"},
    ]


def test_a_formula_gives_the_result_that_was_saved_with_it(tmp_path):
    path = tmp_path / "rows.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["serial", "length"])
        sheet.write_string(1, 0, "U-1")
        sheet.write_formula(1, 1, "=5+2.5", None, 7.5)

    assert [row.cells for row in rows(path)] == [{"serial": "U-1", "length": "7.5"}]


def test_a_formula_whose_result_was_never_saved_is_told(tmp_path):
    path = workbook(tmp_path, ("A", [["serial", "length"], ["U-1", "=5+2.5"]]))

    source = read(path)

    assert [row.cells for row in source.rows()] == [{"serial": "U-1"}]
    assert source.notices == (
        (
            "a formula has no saved result and counts as an empty cell; open the file "
            "in a spreadsheet, save it, and ingest it again"
        ),
    )


def test_a_formula_whose_result_is_an_empty_text_is_no_matter(tmp_path):
    made = workbook(tmp_path, ("A", [["serial", "site"], ["U-1", '=IF(1,"","x")']]))
    path = tmp_path / "saved.xlsx"
    with zipfile.ZipFile(made) as before, zipfile.ZipFile(path, "w") as after:
        for name in before.namelist():
            # As a spreadsheet saves it: t="str" with an empty value.
            content = before.read(name).replace(b'<c r="B2"', b'<c r="B2" t="str"')
            after.writestr(name, content)

    assert read(path).notices == ()
    assert [row.cells for row in rows(path)] == [{"serial": "U-1"}]


def test_blank_rows_are_passed_over_and_keep_the_count(tmp_path):
    path = workbook(tmp_path, ("A", [[None], ["a", "b"], [None, None], [1, 2], [" "]]))

    assert [(row.row_no, row.cells) for row in rows(path)] == [
        (4, {"a": "1", "b": "2"})
    ]


def test_a_workbook_row_with_a_cell_beyond_the_header_is_malformed(tmp_path):
    (row,) = rows(workbook(tmp_path, ("A", [["a"], [1, None, 3]])))

    assert row.problem.code == "malformed_row"
    assert row.cells == {"a": "1", "extra_cell_1": "3"}


def test_a_workbook_without_a_filled_cell_is_empty(tmp_path):
    with pytest.raises(FileError, match="is empty"):
        read(workbook(tmp_path, ("A", [])))


def test_a_file_that_is_no_workbook_is_refused(tmp_path):
    path = tmp_path / "rows.xlsx"
    path.write_bytes(b"serial,model\nU-1,A\n")

    with pytest.raises(FileError, match="is not a workbook that can be read"):
        read(path)


def test_a_workbook_whose_sheet_is_cut_short_is_refused(tmp_path):
    whole = workbook(tmp_path, ("A", [["a"], *([n] for n in range(500))]))
    path = tmp_path / "cut.xlsx"
    with zipfile.ZipFile(whole) as good, zipfile.ZipFile(path, "w") as cut:
        for name in good.namelist():
            content = good.read(name)
            cut.writestr(name, content[:2000] if "sheet1" in name else content)

    with pytest.raises(FileError, match="is not a workbook that can be read"):
        rows(path)


def test_a_workbook_says_how_many_rows_it_has(tmp_path):
    assert read(workbook(tmp_path, ("A", [["a"], [1], [2]]))).total == 2


def test_another_suffix_is_refused_with_the_list_of_those_read(tmp_path):
    path = tmp_path / "rows.pdf"
    path.write_bytes(b"%PDF")

    with pytest.raises(FileError, match=r"has the suffix `\.pdf`") as caught:
        read(path)
    assert all(suffix in caught.value.hint for suffix in READERS)


def test_a_file_that_is_not_there_is_said_to_be_missing(tmp_path):
    with pytest.raises(FileError, match=r"There is no file .*gone\.csv"):
        read(tmp_path / "gone.csv")


def test_what_the_system_will_not_open_is_told_in_its_words(tmp_path):
    with pytest.raises(FileError, match="cannot be read: File name too long"):
        read(tmp_path / ("x" * 300 + ".csv"))


@pytest.mark.parametrize("name", ["a.csv", "a.xlsx", "a.parquet"])
def test_a_file_of_no_bytes_is_empty(tmp_path, name):
    (tmp_path / name).touch()

    with pytest.raises(FileError, match="is empty"):
        read(tmp_path / name)
