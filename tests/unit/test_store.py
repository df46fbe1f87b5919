"""The store opens for one writer, moves up by migrations and never down."""

import os
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from ingest import store
from ingest.errors import (
    FileError,
    NoStoreError,
    RefusedError,
    StoreBusyError,
    StoreNewerError,
)
from ingest.migrations import Migration, migrate, steps

NOWHERE = Path("nowhere.duckdb")


@pytest.fixture
def made(tmp_path):
    path = tmp_path / "store.duckdb"
    with store.open_for_writing(path):
        pass
    return path


def test_a_new_store_has_the_agreed_tables_and_views(made):
    with store.open_for_reading(made) as connection:
        names = {row[0] for row in connection.execute("SHOW TABLES").fetchall()}

    assert names == {
        "batches", "batch_problems", "rejected_rows", "schema_migrations",
        "store_about", "unit_versions", "repair_versions", "reading_versions",
        "units", "repairs", "readings",
        "shipment_versions", "planned_sale_versions", "usage_versions",
        "status_versions", "repeated_rows", "repeated_rejected_rows", "unknown_cells",
        "shipments", "planned_sales", "usage", "status", "rows_set_aside",
        "alarms", "alarm_watch", "alarm_notes", "alarm_deliveries", "suggestions",
    }  # fmt: skip


def test_the_folder_of_a_new_store_is_made(tmp_path):
    path = tmp_path / "a" / "b" / "store.duckdb"

    with store.open_for_writing(path):
        pass

    assert path.exists()


def test_opening_again_applies_no_migration_twice(made):
    with store.open_for_writing(made) as connection:
        rows = connection.execute("SELECT version FROM schema_migrations").fetchall()

    assert rows == [(step.version,) for step in steps()]


def test_a_view_shows_the_newest_version_also_through_an_attached_store(made):
    with store.open_for_writing(made) as connection:
        for batch, model in ((1, "Old"), (2, "New")):
            connection.execute(
                "INSERT INTO unit_versions (serial, model, batch, row_no)"
                " VALUES ('U-1', ?, ?, 2)",
                [model, batch],
            )

    with duckdb.connect() as connection:
        store.attach_read_only(connection, made)
        rows = connection.execute("SELECT serial, model FROM store.units").fetchall()

    assert rows == [("U-1", "New")]


def test_an_attached_store_cannot_be_written(made):
    with duckdb.connect() as connection:
        store.attach_read_only(connection, made)

        with pytest.raises(duckdb.Error, match="read-only"):
            connection.execute("DELETE FROM store.batches")


def test_a_store_that_is_not_there_is_said_to_be_missing(tmp_path):
    path = tmp_path / "store.duckdb"

    words = "There is no store at "
    with pytest.raises(NoStoreError, match=words), store.open_for_reading(path):
        pass
    with pytest.raises(NoStoreError, match=words):
        store.attach_read_only(duckdb.connect(), path)
    assert store.origin(path) is None


def test_a_second_process_is_told_which_process_holds_the_store(made):
    code = (
        "import sys\nfrom pathlib import Path\nfrom ingest import store\n"
        "from ingest.errors import StoreBusyError\n"
        "try:\n    with store.open_for_writing(Path(sys.argv[1])): pass\n"
        "except StoreBusyError as error: print(error.message)\n"
    )

    with store.open_for_writing(made):
        told = subprocess.run(
            [sys.executable, "-c", code, str(made)],
            capture_output=True, text=True, check=True,
            cwd=Path(__file__).parents[2],
        ).stdout.strip()  # fmt: skip

    holder = told.removeprefix(f"{made} is being written by process ").rstrip(".")
    assert holder.isdigit(), told
    assert int(holder) == os.getpid()


def test_a_reader_in_the_writing_process_is_told_so(made):
    with store.open_for_writing(made):
        words = "is being written by this process"
        with pytest.raises(StoreBusyError, match=words), store.open_for_reading(made):
            pass
        with pytest.raises(StoreBusyError, match=words):
            store.attach_read_only(duckdb.connect(), made)


def test_a_second_writer_in_the_same_process_waits_its_turn(made):
    words = "is being written by this process"

    with (
        store.open_for_writing(made),
        pytest.raises(StoreBusyError, match=words),
        store.open_for_writing(made.parent / "." / made.name),
    ):
        pass

    with store.open_for_writing(made) as connection:
        assert connection.execute("SELECT 1").fetchall() == [(1,)]


def test_a_store_of_a_newer_program_is_refused(made):
    with duckdb.connect(str(made)) as connection:
        connection.execute(
            "INSERT INTO schema_migrations VALUES (9999, 'later', 'x', now())"
        )

    words = "store.duckdb was written by a newer version of the program"
    for opened in (store.open_for_reading, store.open_for_writing):
        with pytest.raises(StoreNewerError, match=words), opened(made):
            pass
    with pytest.raises(StoreNewerError, match=words):
        store.attach_read_only(duckdb.connect(), made)


def test_a_file_that_is_no_database_is_not_opened(tmp_path):
    path = tmp_path / "store.duckdb"
    path.write_bytes(b"not a database" * 1000)

    with (
        pytest.raises(FileError, match="is not a store of this program"),
        store.open_for_writing(path),
    ):
        pass


def test_another_database_is_not_read_as_a_store(tmp_path):
    path = tmp_path / "store.duckdb"
    with duckdb.connect(str(path)) as connection:
        connection.execute("CREATE TABLE t (a INTEGER)")

    with (
        pytest.raises(FileError, match="is not a store of this program"),
        store.open_for_reading(path),
    ):
        pass


def test_the_origin_is_settled_when_the_store_is_made(tmp_path):
    path = tmp_path / "store.duckdb"
    with store.open_for_writing(path, origin="invented"):
        pass
    with store.open_for_writing(path):
        pass

    assert store.origin(path) == "invented"


def test_a_store_of_records_takes_no_invented_rows(made):
    with (
        pytest.raises(RefusedError, match="invented rows are not mixed"),
        store.open_for_writing(made, origin="invented"),
    ):
        pass
    assert store.origin(made) == "records"


def test_an_edited_migration_is_found_by_its_checksum():
    step = Migration(1, "first", "CREATE TABLE a (n INTEGER)")
    edited = Migration(1, "first", "CREATE TABLE a (n BIGINT)")
    with duckdb.connect() as connection:
        migrate(connection, path=NOWHERE, known=[step])

        with pytest.raises(RefusedError, match="0001_first is not the one that made"):
            migrate(connection, path=NOWHERE, known=[edited])


def test_a_migration_that_fails_leaves_nothing_behind():
    good = Migration(1, "first", "CREATE TABLE a (n INTEGER)")
    bad = Migration(2, "second", "CREATE TABLE b (n INTEGER); INSERT INTO nowhere")
    with duckdb.connect() as connection:
        with pytest.raises(duckdb.Error, match="syntax error"):
            migrate(connection, path=NOWHERE, known=[good, bad])

        names = {row[0] for row in connection.execute("SHOW TABLES").fetchall()}
        versions = connection.execute("SELECT version FROM schema_migrations")
        assert names == {"a", "schema_migrations"}
        assert versions.fetchall() == [(1,)]


def test_migrations_are_numbered_without_gap():
    assert [step.version for step in steps()] == list(range(1, len(steps()) + 1))


def test_a_transaction_that_is_not_kept_changes_nothing(made):
    with store.open_for_writing(made) as connection:
        with store.transaction(connection, keep=False):
            connection.execute("INSERT INTO store_about VALUES ('a', 'b')")

        found = connection.execute("SELECT key FROM store_about").fetchall()
        assert found == [("origin",)]
