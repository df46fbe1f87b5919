"""Rows set aside: listed with their reasons, and as a table to correct."""

import pytest

from ingest.errors import NoStoreError, UsageError
from ingest.quarantine import (
    Problem,
    RejectedRow,
    correction_table,
    rejected_rows,
    write_correction_files,
)
from ingest.readers import read
from tests.small_files import asked, ingested


def row(kind, cells, *problems, name="x"):
    found = [Problem(field, code, "words") for field, code in problems]
    return RejectedRow(name, kind, "file.csv", 2, cells, found)


def test_the_table_has_the_own_columns_then_the_reasons_then_the_name():
    rows = [
        row("units", {"serial": "?", "note": "a"}, ("serial", "bad_pattern"), name="1"),
        row(
            "units", {"serial": None, "model": "A"},
            ("serial", "missing"), ("model", "too_long"), name="2",
        ),
        row("repairs", {"case_id": "R1"}, ("serial", "missing")),
    ]  # fmt: skip

    columns, cells = correction_table(rows, "units")

    assert columns == ["serial", "note", "model", "problems", "rejected_row"]
    assert cells == [
        ["?", "a", None, "serial:bad_pattern", "1"],
        [None, None, "A", "serial:missing; model:too_long", "2"],
    ]


def test_a_reason_that_a_row_has_twice_is_written_once():
    message = ("message", "malformed_message")

    _, cells = correction_table([row("status", {}, message, message)], "status")

    assert cells == [["message:malformed_message", "x"]]


def test_a_rejected_row_is_listed_with_cells_reasons_file_and_row(tmp_path):
    ingested(tmp_path, "serial,model,note\nU-001,A,\n?,B,x\n")

    (found,) = rejected_rows(tmp_path / "store.duckdb")

    assert (found.kind, found.row_no) == ("units", 3)
    assert found.path.endswith("units.csv")
    assert found.cells == {"serial": "?", "model": "B", "note": "x"}
    assert found.problems == [
        Problem("serial", "bad_pattern", "must be 3 to 40 of A-Z 0-9 . _ / -, got '?'")
    ]


def test_a_rejected_row_read_again_is_rejected_again_and_kept_once(tmp_path):
    ingested(tmp_path, "serial,model\n?,B\n")

    again = ingested(tmp_path, "serial,model\n?,B\n!,C\n?,B\n")

    assert again.rejected == 3
    assert len(rejected_rows(tmp_path / "store.duckdb")) == 2
    assert asked(tmp_path, "SELECT batch, row_no FROM rejected_rows ORDER BY ALL") == [
        (1, 2),
        (2, 3),
    ]


def test_with_no_row_waiting_no_file_is_written(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n")

    assert write_correction_files(tmp_path / "store.duckdb", tmp_path / "o.csv") == []
    assert not (tmp_path / "o.csv").exists()


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_rows_of_several_kinds_go_to_a_file_each(tmp_path, suffix):
    ingested(tmp_path, "serial,model\n?,A\nU-001,\n")
    ingested(tmp_path, "case_id,serial,received_on\nR1,?,soon\n", name="repairs.csv")

    files = write_correction_files(tmp_path / "store.duckdb", tmp_path / f"fix{suffix}")

    assert [file.name for file in files] == [
        f"fix-units{suffix}",
        f"fix-repairs{suffix}",
    ]
    assert [row.cells["problems"] for row in read(files[0])[0].rows()] == [
        "serial:bad_pattern",
        "model:missing",
    ]
    assert all(file.exists() for file in files)


def test_another_suffix_is_refused(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n")

    with pytest.raises(UsageError, match=r"o\.pdf has the suffix `\.pdf`"):
        write_correction_files(tmp_path / "store.duckdb", tmp_path / "o.pdf")


def test_without_a_store_that_is_said(tmp_path):
    with pytest.raises(NoStoreError, match="There is no store at"):
        rejected_rows(tmp_path / "store.duckdb")
