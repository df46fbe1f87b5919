"""One who finds the store taken, damaged or the disk full is told so in words."""

import threading
import time
from pathlib import Path

import duckdb
import pytest

from ingest import store
from ingest.errors import DiskError, FileError, StoreBusyError, StoreNewerError

NOWHERE = Path("nowhere.duckdb")


@pytest.fixture
def made(tmp_path):
    path = tmp_path / "store.duckdb"
    with store.open_for_writing(path):
        pass
    return path


@pytest.mark.parametrize(
    "opened", [store.open_for_reading, store.open_for_writing], ids=["read", "write"]
)
def test_one_who_waits_gets_the_store_when_the_writer_is_done(made, opened):
    held, done = threading.Event(), threading.Event()

    def write():
        with store.open_for_writing(made) as connection:
            held.set()
            done.wait(timeout=30)
            connection.execute("INSERT INTO store_about VALUES ('a', 'b')")

    writer = threading.Thread(target=write)
    writer.start()
    held.wait(timeout=30)
    threading.Timer(0.2, done.set).start()

    with opened(made, wait_s=30) as connection:
        found = connection.execute("SELECT value FROM store_about WHERE key = 'a'")
        assert found.fetchall() == [("b",)]
    writer.join()


def test_one_who_waits_gives_up_after_the_time_stated(made):
    begun = time.monotonic()

    with (
        store.open_for_writing(made),
        pytest.raises(StoreBusyError, match="is being written by this process"),
    ):
        store.attach_read_only(duckdb.connect(), made, wait_s=0.2)

    assert 0.2 <= time.monotonic() - begun < 10


def test_a_damaged_store_is_said_to_be_damaged(made):
    content = bytearray(made.read_bytes())
    content[content.index(b"DUCK") + 4] ^= 0xFF
    made.write_bytes(content)

    with (
        pytest.raises(FileError, match=r"store\.duckdb is damaged: Corrupt database"),
        store.open_for_reading(made),
    ):
        pass


def test_a_newer_file_format_means_a_newer_program():
    # The sentence of DuckDB 2.0.1; a file with a later version number and a right
    # checksum cannot be made here.
    error = duckdb.Error(
        "Trying to read a database file with storage version number 9999, but we can "
        "only read storage versions between 64 and 68."
    )

    assert isinstance(store.explained(error, NOWHERE), StoreNewerError)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("No space left on device", "could not be written: no space is left for it."),
        ("File too large", "could not be written: no space is left for it."),
        ("Permission denied", "could not be opened or written: permission denied."),
        (
            "Read-only file system",
            "could not be opened or written: read-only file system.",
        ),
    ],
)
def test_a_full_or_closed_disk_is_said_in_words(words, says):
    error = duckdb.IOException(f'IO Error: Could not write file "x": {words}')

    meant = store.explained(error, NOWHERE)

    assert isinstance(meant, DiskError)
    assert meant.message == f"nowhere.duckdb {says}"


def test_a_file_that_the_system_names_is_the_one_that_is_told_of():
    meant = store.explained(PermissionError(13, "Permission denied", "a.csv"), NOWHERE)

    assert isinstance(meant, DiskError)
    assert meant.message.startswith("a.csv could not be opened")


def test_a_folder_that_cannot_be_made_is_said_in_words(tmp_path):
    (tmp_path / "file").write_text("x")
    path = tmp_path / "file" / "store.duckdb"

    with pytest.raises(DiskError, match="file exists"), store.open_for_writing(path):
        pass


def test_an_error_that_means_nothing_to_a_person_stays_what_it_is():
    error = duckdb.Error("out of memory")

    assert store.explained(error, NOWHERE) is error
