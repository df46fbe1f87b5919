"""Rows to correct come back as they were read: with their mapping and their commas."""

import openpyxl
import pytest

from dashboard.queries.rejected import correction_file
from dashboard.settings import Place
from ingest import quarantine
from ingest.errors import UsageError
from ingest.mapping.mapping_file import parse_mapping
from ingest.pipeline import ingest_paths
from ingest.quarantine import rejected_rows, write_correction_files
from tests.small_files import asked, counts, write_csv

COLUMNS = """
[columns]
Nr = "case_id"
Ser = "serial"
Datum = "received_on"
Mode = "confirmed_mode"
[dates]
"""
DAY_FIRST = COLUMNS + 'received_on = "%d/%m/%Y"'
MONTH_FIRST = COLUMNS + 'received_on = "%m/%d/%Y"'
HEADER = "Nr,Ser,Datum,Mode\n"


def taken_in(tmp_path, name, text, mapping=None):
    file = write_csv(tmp_path, name, text)
    (report,) = ingest_paths(
        tmp_path / "store.duckdb",
        [file],
        mapping=parse_mapping(mapping, name="m.toml") if mapping else None,
    ).files
    return report


def corrected(file, old, new):
    file.write_text(file.read_text("utf-8-sig").replace(old, new), encoding="utf-8")
    return file


def two_notations(tmp_path):
    """Set the same day aside, written by two workshops."""
    taken_in(tmp_path, "a.csv", HEADER + "R1,U-1,03/05/2026,fuse\n", DAY_FIRST)
    taken_in(tmp_path, "b.csv", HEADER + "R2,U-2,05/03/2026,fuse\n", MONTH_FIRST)


def test_rows_of_two_mappings_are_read_again_each_with_its_own(tmp_path):
    two_notations(tmp_path)

    files = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    for file in files:
        corrected(file, "fuse", "fuse_open")
    report = ingest_paths(tmp_path / "store.duckdb", files)

    assert [file.name for file in files] == ["fix-repairs-1.csv", "fix-repairs-2.csv"]
    assert [counts(file)[1] for file in report.files] == [1, 1]
    found = "SELECT case_id, CAST(received_on AS VARCHAR) FROM repairs ORDER BY 1"
    assert asked(tmp_path, found) == [("R1", "2026-05-03"), ("R2", "2026-05-03")]
    assert rejected_rows(tmp_path / "store.duckdb") == []


def test_the_download_keeps_them_apart_too(tmp_path):
    two_notations(tmp_path)

    name, content = correction_file(Place(tmp_path))

    assert name == "to-correct.zip"
    assert b"to-correct-repairs-1.csv" in content
    assert b"to-correct-repairs-2.csv" in content


def test_a_file_of_rows_read_in_two_ways_is_refused_whole(tmp_path):
    two_notations(tmp_path)
    one, two = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    lines = [*one.read_text("utf-8-sig").splitlines(), two.read_text().splitlines()[1]]

    report = taken_in(tmp_path, "both.csv", "\n".join(lines))

    assert report.error
    assert "2 ways" in report.error.message
    assert len(rejected_rows(tmp_path / "store.duckdb")) == 2


def test_a_row_set_aside_twice_is_read_as_it_was_the_second_time(tmp_path):
    row = HEADER + "R1,U-1,03/05/2026,fuse\n"
    taken_in(tmp_path, "a.csv", row, MONTH_FIRST)
    taken_in(tmp_path, "a.csv", row, DAY_FIRST)  # the mapping was wrong

    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    ingest_paths(tmp_path / "store.duckdb", [corrected(file, "fuse", "fuse_open")])

    found = "SELECT CAST(received_on AS VARCHAR) FROM repairs"
    assert asked(tmp_path, found) == [("2026-05-03",)]


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_decimal_commas_of_a_semicolon_file_are_read_again(tmp_path, suffix):
    text = "serial;model;cable_length_m;phases\nU-001;A;7,5;two\n"
    taken_in(tmp_path, "a.csv", text)
    store = tmp_path / "store.duckdb"

    (file,) = write_correction_files(store, tmp_path / f"fix{suffix}")
    if suffix == ".xlsx":
        book = openpyxl.load_workbook(file)
        book.active.cell(2, 4).value = 3
        book.save(file)
    else:
        corrected(file, "two", "3")
    (report,) = ingest_paths(store, [file]).files

    assert counts(report) == (1, 1, 0, 0, 0)
    assert asked(tmp_path, "SELECT cable_length_m, phases FROM units") == [(7.5, 3)]


def test_a_comma_that_was_no_decimal_comma_does_not_become_one(tmp_path):
    text = 'serial,model,cable_length_m\nU-001,A,"7,500"\n'
    taken_in(tmp_path, "a.csv", text)

    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    (report,) = ingest_paths(tmp_path / "store.duckdb", [file]).files

    assert counts(report) == (1, 0, 0, 0, 1)


def test_a_workbook_that_cannot_hold_all_rows_is_not_written(tmp_path, monkeypatch):
    monkeypatch.setattr(quarantine, "MOST_ROWS", 2)
    taken_in(tmp_path, "a.csv", "serial,model\n?,A\n!,A\n")

    with pytest.raises(UsageError, match="3 rows"):
        write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.xlsx")

    assert not (tmp_path / "fix.xlsx").exists()
    assert write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
