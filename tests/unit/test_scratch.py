"""Folders for unpacked files: gone afterwards, even if the process was killed."""

import subprocess
import sys
import tempfile

import pytest

from ingest import store
from ingest.scratch import scratch_folder

KILLED = """
import os, signal
from ingest.scratch import scratch_folder
with scratch_folder() as folder:
    (folder / "rows.csv").write_text("serial,model")
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture
def parent(tmp_path, monkeypatch):
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setenv("TMPDIR", str(folder))
    monkeypatch.setattr(tempfile, "tempdir", None)
    return folder


def test_it_is_empty_and_gone_afterwards(parent):
    with scratch_folder() as folder:
        assert folder.is_relative_to(parent)
        assert list(folder.iterdir()) == []

    assert list(parent.iterdir()) == []


def test_what_a_killed_process_left_is_removed_by_the_next(parent):
    subprocess.run([sys.executable, "-c", KILLED], check=False)
    assert [file.name for file in parent.glob("*/*/*")] == ["rows.csv"]

    with scratch_folder() as folder:
        assert list(parent.iterdir()) == [folder.parent]


@pytest.mark.usefixtures("parent")
def test_a_folder_in_use_is_left_alone():
    with scratch_folder() as one:
        (one / "rows.csv").touch()
        with scratch_folder():
            assert (one / "rows.csv").exists()


def test_what_is_no_folder_of_ours_is_left_alone(parent):
    (parent / "mendfleet-notes").mkdir()
    (parent / "mendfleet-notes" / "rows.csv").touch()

    with scratch_folder():
        pass

    assert (parent / "mendfleet-notes" / "rows.csv").exists()


def test_what_the_database_of_a_killed_process_left_is_removed(tmp_path):
    spilled = tmp_path / "store.duckdb.tmp"
    spilled.mkdir()
    (spilled / "duckdb_temp_storage_DEFAULT-0.tmp").write_text("records")
    (spilled / "notes.txt").write_text("not ours")

    with store.open_for_writing(tmp_path / "store.duckdb"):
        pass

    assert [file.name for file in spilled.iterdir()] == ["notes.txt"]
