"""A whole store has no fault; each kind of fault is found and named."""

import duckdb
import pytest

from ingest import store
from ingest.errors import NoStoreError, StoreBusyError
from ingest.upkeep import self_check as checks
from ingest.upkeep.self_check import self_check
from ingest.upkeep.undo import undo
from tests.small_files import ingested

TWICE = (
    "INSERT INTO unit_versions (serial, model, batch, row_no) "
    "SELECT serial, model, batch, 9 FROM unit_versions WHERE batch = 2"
)
READINGS = (
    "case_id,check,taken_at,stage,value,unit\n"
    "R9,pilot_continuity,2025-06-03,diagnosis,0.4,ohm\n"
)


@pytest.fixture
def folder(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\nU-002,A\n?,A\n")
    ingested(tmp_path, "serial,model\nU-001,B\nU-002,A\n", name="more.csv")
    ingested(
        tmp_path,
        "case_id,serial,received_on\nR1,U-009,2025-06-01\n",
        name="repairs.csv",
    )
    ingested(tmp_path, READINGS, name="readings.csv")
    return tmp_path


def found(folder):
    return {finding.check: finding for finding in self_check(folder / "store.duckdb")}


def faults(folder):
    return {name for name, finding in found(folder).items() if finding.is_fault}


def test_a_whole_store_has_no_fault_before_and_after_undo(folder):
    assert faults(folder) == set()

    undo(folder / "store.duckdb", 1)

    assert faults(folder) == set()


def test_what_waits_for_a_unit_or_case_is_counted_and_no_fault(folder):
    findings = found(folder)

    assert findings["cases_of_unknown_units"].n == 1
    assert findings["readings_of_unknown_cases"].n == 1
    assert findings["usage_of_unknown_units"].message == (
        "Months of use of units that are not known yet: 0."
    )


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE batches SET n_read = 9 WHERE batch = 1", {"batch_balance"}),
        ("DELETE FROM unit_versions WHERE batch = 2", {"batch_rows"}),
        ("DELETE FROM batches WHERE batch = 4", {"unknown_batch"}),
        (
            "UPDATE batches SET undone_at = now()::TIMESTAMP WHERE batch = 2",
            {"unknown_batch"},
        ),
        (
            TWICE,
            {"duplicate_keys", "batch_rows"},
        ),
        (
            "INSERT INTO repeated_rows VALUES (77, 'units', 'x', 2)",
            {"unknown_batch"},
        ),
        ("UPDATE schema_migrations SET checksum = 'x'", {"layout"}),
        ("DELETE FROM schema_migrations WHERE version = 1", {"layout"}),
    ],
)
def test_a_fault_is_found_and_named(folder, statement, named):
    with duckdb.connect(str(folder / "store.duckdb")) as connection:
        connection.execute(statement)

    assert faults(folder) == named


def test_a_store_of_an_older_layout_is_no_fault(folder):
    with duckdb.connect(str(folder / "store.duckdb")) as connection:
        connection.execute("DELETE FROM schema_migrations WHERE version > 1")

    findings = found(folder)

    assert findings["layout"].message.startswith("Layout 1 of ")
    assert not findings["layout"].is_fault
    assert "readable" not in findings


def test_a_block_that_changed_on_the_disk_is_found(folder):
    file = folder / "store.duckdb"
    content = bytearray(file.read_bytes())
    place = content.index(b"pilot_continuity")
    content[place] ^= 1
    file.write_bytes(content)

    assert "readable" in faults(folder)
    assert "is damaged" in found(folder)["readable"].message


def test_too_little_free_disk_is_a_fault(folder, monkeypatch):
    usage = checks.shutil.disk_usage(folder)
    nearly_full = type(usage)(usage.total, usage.total - 10, 10)
    monkeypatch.setattr(checks.shutil, "disk_usage", lambda _: nearly_full)

    assert faults(folder) == {"free_disk"}


def test_what_a_broken_off_command_left_is_named(folder):
    (folder / "store.duckdb.unfinished").write_bytes(b"")

    assert "store.duckdb.unfinished" in found(folder)["left_over"].message


def test_a_store_that_cannot_be_read_is_said(folder, tmp_path):
    with pytest.raises(NoStoreError):
        self_check(tmp_path / "none.duckdb")
    with (
        store.open_for_writing(folder / "store.duckdb"),
        pytest.raises(StoreBusyError),
    ):
        self_check(folder / "store.duckdb")
