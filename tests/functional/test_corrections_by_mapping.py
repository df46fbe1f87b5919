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
from ingest.upkeep.undo import undo
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


def days(tmp_path):
    return asked(
        tmp_path,
        "SELECT case_id, CAST(received_on AS VARCHAR) FROM repairs ORDER BY 1",
    )


def test_rows_of_two_mappings_share_a_file_and_are_read_again_each_with_its_own(
    tmp_path,
):
    two_notations(tmp_path)

    files = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    (report,) = ingest_paths(
        tmp_path / "store.duckdb", [corrected(files[0], "fuse", "fuse_open")]
    ).files

    assert files == [tmp_path / "fix.csv"]
    assert counts(report) == (2, 2, 0, 0, 0)
    assert days(tmp_path) == [("R1", "2026-05-03"), ("R2", "2026-05-03")]
    assert rejected_rows(tmp_path / "store.duckdb") == []


def test_a_row_of_such_a_file_that_is_wrong_again_is_still_read_in_its_own_way(
    tmp_path,
):
    two_notations(tmp_path)
    store = tmp_path / "store.duckdb"
    (first,) = write_correction_files(store, tmp_path / "fix.csv")
    ingest_paths(store, [corrected(first, "fuse", "fuze")])

    (again,) = write_correction_files(store, tmp_path / "again.csv")
    (report,) = ingest_paths(store, [corrected(again, "fuze", "fuse_open")]).files

    assert counts(report) == (2, 2, 0, 0, 0)
    assert days(tmp_path) == [("R1", "2026-05-03"), ("R2", "2026-05-03")]


def test_own_columns_and_mapped_ones_share_a_file(tmp_path):
    taken_in(tmp_path, "a.csv", HEADER + "R1,U-1,03/05/2026,fuse\n", DAY_FIRST)
    own = "case_id;serial;received_on;labour_minutes;confirmed_mode\n"
    taken_in(tmp_path, "b.csv", own + "R2;U-2;2026-05-04;7,5;fuse\n")
    store = tmp_path / "store.duckdb"

    (file,) = write_correction_files(store, tmp_path / "fix.csv")
    (report,) = ingest_paths(store, [corrected(file, "fuse", "fuse_open")]).files

    assert counts(report) == (2, 2, 0, 0, 0)
    assert report.problems == {"serial": {"unknown_serial": 2}}
    assert days(tmp_path) == [("R1", "2026-05-03"), ("R2", "2026-05-04")]
    minutes = "SELECT labour_minutes FROM repairs WHERE case_id = 'R2'"
    assert asked(tmp_path, minutes) == [(7.5,)]


def test_two_cells_for_one_field_are_not_chosen_between(tmp_path):
    taken_in(tmp_path, "a.csv", HEADER + "R1,U-1,03/05/2026,fuse\n", DAY_FIRST)
    own = "case_id,serial,received_on,confirmed_mode\n"
    taken_in(tmp_path, "b.csv", own + "R2,U-2,2026-05-04,fuse\n")
    store = tmp_path / "store.duckdb"
    (file,) = write_correction_files(store, tmp_path / "fix.csv")
    corrected(file, "fuse,,,,", "fuse_open,,U-7,,")  # `Ser` and `serial` of R1

    (report,) = ingest_paths(store, [corrected(file, ",fuse,", ",fuse_open,")]).files

    assert counts(report) == (2, 1, 0, 0, 1)
    assert report.problems["serial"]["malformed_row"] == 1
    (row,) = rejected_rows(store)
    assert "`Ser` and `serial`" in row.problems[0].message


def test_the_download_is_one_file_too(tmp_path):
    two_notations(tmp_path)

    name, content = correction_file(Place(tmp_path))

    assert name == "to-correct-repairs.csv"
    assert content.count(b"\r\n") == 3


@pytest.mark.parametrize("in_blocks", [True, False])
def test_a_row_that_a_better_mapping_makes_a_record_waits_no_longer(
    tmp_path, in_blocks
):
    file = write_csv(tmp_path, "a.csv", HEADER + "R1,U-1,30/05/2026,\nR2,U-2,x,\n")
    store = tmp_path / "store.duckdb"
    for mapping in (MONTH_FIRST, DAY_FIRST):
        ingest_paths(
            store,
            [file],
            mapping=parse_mapping(mapping, name="m.toml"),
            in_blocks=in_blocks,
        )

    assert days(tmp_path) == [("R1", "2026-05-30")]
    assert [row.cells["Nr"] for row in rejected_rows(store)] == ["R2"]
    resolved = "SELECT resolved_by FROM rejected_rows ORDER BY row_no"
    assert asked(tmp_path, resolved) == [(2,), (None,)]

    undo(store, 2)

    assert days(tmp_path) == []
    assert [row.cells["Nr"] for row in rejected_rows(store)] == ["R1", "R2"]


def test_the_reasons_told_are_those_of_the_last_time(tmp_path):
    row = HEADER + "R1,U-1,30/05/2026,fuse\n"
    taken_in(tmp_path, "a.csv", row, MONTH_FIRST)
    taken_in(tmp_path, "a.csv", row, DAY_FIRST)
    store = tmp_path / "store.duckdb"

    (waiting,) = rejected_rows(store)
    assert [p.field for p in waiting.problems] == ["confirmed_mode"]

    undo(store, 2)
    (waiting,) = rejected_rows(store)
    assert [p.field for p in waiting.problems] == ["received_on", "confirmed_mode"]


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
