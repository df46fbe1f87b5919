"""A backup holds the whole store; what is no whole backup is not put back."""

import random
import re
import shutil

import duckdb
import pytest

from ingest import store
from ingest.errors import (
    DiskError,
    FileError,
    NoStoreError,
    RefusedError,
    StoreBusyError,
    StoreNewerError,
)
from ingest.upkeep import backup as backups
from ingest.upkeep import copies
from ingest.upkeep.backup import backup, restore
from tests.small_files import asked, ingested, write_csv

EVERYTHING = "SELECT serial, model, batch, row_no FROM unit_versions ORDER BY ALL"
ROWS = [("U-001", "A", 1, 2), ("U-001", "B", 2, 2), ("U-002", "A", 1, 3)]
N_FLIPPED = 12


@pytest.fixture
def folder(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\nU-002,A\n?,A\n")
    ingested(tmp_path, "serial,model\nU-001,B\nU-002,A\n", name="more.csv")
    return tmp_path


@pytest.fixture
def copied(folder):
    backup(folder / "store.duckdb", folder / "copy.duckdb")
    return folder / "copy.duckdb"


def emptied(folder):
    """Return another folder with a store that holds one other unit."""
    other = folder / "other"
    other.mkdir()
    ingested(other, "serial,model\nX-001,X\n")
    return other


def files(folder):
    return sorted(path.name for path in folder.iterdir() if path.is_file())


def test_a_backup_comes_back_with_every_row_and_view(folder, copied):
    other = folder / "other" / "deep"

    manifest = restore(copied, other / "store.duckdb")

    assert asked(other, EVERYTHING) == ROWS
    assert asked(other, "SELECT serial, model FROM units ORDER BY serial") == [
        ("U-001", "B"),
        ("U-002", "A"),
    ]
    assert manifest.tables["unit_versions"].n_rows == 3
    assert files(other) == ["store.duckdb"]
    assert asked(
        other, "SELECT count(*) FROM duckdb_tables() WHERE table_name LIKE 'backup%'"
    ) == [(0,)]


def test_a_store_that_came_back_takes_files_and_is_copied_again(folder, copied):
    other = folder / "other"
    restore(copied, other / "store.duckdb")

    report = ingested(other, "serial,model\nU-003,A\nU-002,A\n", name="next.csv")

    assert (report.batch, report.accepted, report.unchanged) == (3, 1, 1)
    again = backup(other / "store.duckdb", other / "copy.duckdb")
    assert again.tables["batches"].n_rows == 3
    assert "backup_manifest" not in again.tables


def test_the_manifest_says_by_what_and_how_many(copied):
    with duckdb.connect(str(copied), read_only=True) as connection:
        rows = connection.execute(
            "SELECT table_name, n_rows, program, schema_version FROM backup_manifest"
        ).fetchall()

    counts = {name: n for name, n, *_ in rows}
    assert (counts["unit_versions"], counts["rejected_rows"], counts["batches"]) == (
        3, 1, 2,
    )  # fmt: skip
    assert {row[2:] for row in rows} == {("0.1.0", 4)}


def test_a_backup_overwrites_no_file(folder, copied):
    before = copied.read_bytes()

    with pytest.raises(RefusedError, match=r"copy\.duckdb is there already"):
        backup(folder / "store.duckdb", copied)

    assert copied.read_bytes() == before


def test_without_a_store_there_is_no_backup(tmp_path):
    with pytest.raises(NoStoreError, match="There is no store at"):
        backup(tmp_path / "store.duckdb", tmp_path / "copy.duckdb")
    assert files(tmp_path) == []


def test_a_backup_into_a_folder_that_is_not_there_is_refused_in_words(folder):
    with pytest.raises(DiskError, match="no such file or directory"):
        backup(folder / "store.duckdb", folder / "nowhere" / "copy.duckdb")


def test_while_the_store_is_written_there_is_no_backup(folder):
    with (
        store.open_for_writing(folder / "store.duckdb"),
        pytest.raises(StoreBusyError, match="is being written by this process"),
    ):
        backup(folder / "store.duckdb", folder / "copy.duckdb")
    assert "copy.duckdb" not in files(folder)


def test_a_copy_that_differs_is_deleted(folder, monkeypatch):
    wrong = backups.Manifest(None, "", 0, {})
    monkeypatch.setattr(backups, "_checked", lambda _: wrong)

    with pytest.raises(RefusedError, match="does not hold the same; it was deleted"):
        backup(folder / "store.duckdb", folder / "copy.duckdb")

    assert files(folder) == ["more.csv", "store.duckdb", "units.csv"]


def test_a_store_that_is_there_is_replaced_only_when_asked(folder, copied):
    other = emptied(folder)

    with pytest.raises(RefusedError, match="There is a store at"):
        restore(copied, other / "store.duckdb")
    assert asked(other, EVERYTHING) == [("X-001", "X", 1, 2)]

    restore(copied, other / "store.duckdb", replace=True)
    assert asked(other, EVERYTHING) == ROWS
    assert files(other) == ["store.duckdb", "units.csv"]


def test_a_store_in_use_is_not_replaced(folder, copied):
    other = emptied(folder)

    with (
        store.open_for_writing(other / "store.duckdb"),
        pytest.raises(StoreBusyError, match="is being written by this process"),
    ):
        restore(copied, other / "store.duckdb", replace=True)

    assert asked(other, EVERYTHING) == [("X-001", "X", 1, 2)]


def test_a_damaged_store_is_replaced(folder, copied):
    other = emptied(folder)
    (other / "store.duckdb").write_bytes(b"\0" * 20_000)
    (other / "store.duckdb.wal").write_bytes(b"changes of the damaged one")

    restore(copied, other / "store.duckdb", replace=True)

    assert asked(other, EVERYTHING) == ROWS
    assert files(other) == ["store.duckdb", "units.csv"]


def test_the_store_before_comes_back_if_the_new_one_is_not_whole(
    folder, copied, monkeypatch
):
    other = emptied(folder)
    monkeypatch.setattr(backups, "_contents_of", lambda _: {})

    with pytest.raises(RefusedError, match="what was there before is back"):
        restore(copied, other / "store.duckdb", replace=True)

    assert asked(other, EVERYTHING) == [("X-001", "X", 1, 2)]


def test_the_store_before_comes_back_if_the_new_one_cannot_be_read(
    folder, copied, monkeypatch
):
    other = folder / "other"

    def fails(_):
        raise FileError("x is damaged", hint="")

    monkeypatch.setattr(backups, "_contents_of", fails)

    with pytest.raises(FileError, match="x is damaged"):
        restore(copied, other / "store.duckdb")

    assert files(other) == []


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "There is no file "),
        (b"", "is not a store of this program"),
        (b"serial,model\n" * 1000, "is not a store of this program"),
    ],
)
def test_a_file_that_is_no_backup_is_refused(tmp_path, content, says):
    file = tmp_path / "copy.duckdb"
    if content is not None:
        file.write_bytes(content)

    with pytest.raises(FileError, match=says):
        restore(file, tmp_path / "store.duckdb")

    assert not (tmp_path / "store.duckdb").exists()


def test_a_store_copied_by_hand_is_no_backup(folder):
    shutil.copy(folder / "store.duckdb", folder / "by-hand.duckdb")

    with pytest.raises(FileError, match="is no backup: it has no manifest"):
        restore(folder / "by-hand.duckdb", folder / "other.duckdb")


@pytest.mark.parametrize(
    ("statement", "error", "says"),
    [
        (
            "UPDATE unit_versions SET model = 'Z' WHERE batch = 2",
            FileError,
            "is damaged: unit_versions is not as it was written",
        ),
        (
            "DELETE FROM rejected_rows",
            FileError,
            "is damaged: rejected_rows is not as it was written",
        ),
        ("CREATE TABLE t (a INTEGER)", FileError, "t is not as it was written"),
        ("DELETE FROM backup_manifest", FileError, "its manifest is empty"),
        (
            "UPDATE schema_migrations SET checksum = 'x' WHERE version = 1",
            RefusedError,
            "was made with another migration 0001",
        ),
        (
            "INSERT INTO schema_migrations VALUES (9999, 'later', 'x', now())",
            StoreNewerError,
            "was written by a newer version of the program",
        ),
    ],
)
def test_a_backup_that_was_altered_is_refused(folder, copied, statement, error, says):
    with duckdb.connect(str(copied)) as connection:
        connection.execute(statement)

    with pytest.raises(error, match=re.escape(says)):
        restore(copied, folder / "other.duckdb")


def test_a_backup_cut_short_is_refused(folder, copied):
    content = copied.read_bytes()
    for part in (100, len(content) // 2, len(content) - 300_000):
        copied.write_bytes(content[:part])
        with pytest.raises(FileError):
            restore(copied, folder / "other.duckdb")


def test_a_flipped_bit_is_found_or_changes_nothing(folder, copied):
    # Some bytes of the file hold nothing: a bit of those may flip unseen.
    content = copied.read_bytes()
    chance = random.Random(1)  # noqa: S311 - which bits flip, no secret
    refused = 0
    for n in range(N_FLIPPED):
        flipped = bytearray(content)
        flipped[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        copied.write_bytes(flipped)
        target = folder / f"try{n}"
        try:
            restore(copied, target / "store.duckdb")
        except FileError:
            refused += 1
            assert not (target / "store.duckdb").exists()
        else:
            assert asked(target, EVERYTHING) == ROWS
    assert refused > 0


def test_a_disk_without_second_names_still_takes_a_backup(folder, copied, monkeypatch):
    other = emptied(folder)

    def refuse(*_):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(copies.os, "link", refuse)

    restore(copied, other / "store.duckdb", replace=True)

    assert asked(other, EVERYTHING) == ROWS
    assert write_csv(other, "x.csv", "").exists()
