"""A store of an older version is read like any other: brought up to date first."""

import duckdb
import pytest

from analytics.rollup.publish import publish
from ingest import store
from ingest.errors import FileError, NoStoreError, RefusedError
from ingest.history import case_history
from ingest.migrations import migrate, steps
from ingest.quarantine import rejected_rows
from ingest.upkeep.backup import backup, restore
from ingest.upkeep.self_check import self_check

REPAIR = """
INSERT INTO repair_versions (
    case_id, serial, received_on, content_hash, batch, row_no
) VALUES ('R1', 'U-001', DATE '2026-01-02', 'x', 1, 2)
"""
REJECTED = """
INSERT INTO rejected_rows VALUES (
    'ab', 'repairs', 1, 'r.csv', 3, '{"case_id": "R2"}',
    '[{"field": "serial", "code": "missing", "message": "is required and empty"}]', NULL
)
"""
BATCH = """
INSERT INTO batches VALUES (
    1, now()::TIMESTAMP, 'r.csv', 'repairs', 'digest', NULL, 2, 1, 0, 0, 1
)
"""


@pytest.fixture
def older(tmp_path):
    """Make a store of the first layout, with a repair and a row set aside."""
    path = tmp_path / "store.duckdb"
    with duckdb.connect(str(path)) as connection:
        migrate(connection, path=path, known=steps()[:1])
        connection.execute("INSERT INTO store_about VALUES ('origin', 'records')")
        for statement in (BATCH, REPAIR, REJECTED):
            connection.execute(statement)
    return path


def test_rows_set_aside_and_cases_are_there(older):
    (row,) = rejected_rows(older)

    assert row.cells == {"case_id": "R2"}
    assert case_history(older, "R1").versions[0].values["serial"] == "U-001"


def test_figures_are_published_from_it(older, tmp_path):
    assert publish(older, tmp_path / "published").n_cases == 1


def test_a_check_and_a_backup_take_it_as_it_is(older, tmp_path):
    assert not any(one.is_fault for one in self_check(older))
    backup(older, tmp_path / "copy.duckdb")

    restore(tmp_path / "copy.duckdb", older, replace=True)

    assert [row.rejected_row for row in rejected_rows(older)] == ["ab"]


def test_a_store_that_an_edited_migration_made_is_not_read(older):
    with duckdb.connect(str(older)) as connection:
        connection.execute("UPDATE schema_migrations SET checksum = 'edited'")

    with (
        pytest.raises(RefusedError, match="0001_first is not the one that made"),
        store.open_for_reading(older),
    ):
        pass


def test_no_folder_is_made_for_figures_without_a_store(tmp_path):
    with pytest.raises(NoStoreError):
        publish(tmp_path / "none.duckdb", tmp_path / "published")

    assert list(tmp_path.iterdir()) == []


def test_a_file_of_records_is_no_backup(tmp_path):
    (tmp_path / "units.csv").write_text("serial,model\nU-001,A\n", encoding="utf-8")

    with pytest.raises(FileError, match="is no backup: it is of another kind"):
        restore(tmp_path / "units.csv", tmp_path / "store.duckdb")
