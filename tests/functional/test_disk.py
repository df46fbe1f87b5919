"""A full disk, a folder that may not be written: a sentence, a code, nothing lost."""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from analytics.rollup.published_files import UNFINISHED, pointer_fault
from ingest.upkeep.self_check import self_check
from tests.small_files import asked
from tests.small_fleet import case, published, unit, write_rows

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-c", "from dashboard.cli.main import main; main()"]
# For root a folder without the right to write is made by a mount of its own.
MOUNT = [
    "unshare", "-m", "sh", "-c",
    'mount --bind "$0" "$0" && mount -o remount,ro,bind "$0" && exec "$@"',
]  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    """Return a data folder with a store and published figures."""
    data = tmp_path / "data"
    published(data, [unit("U-001"), unit("U-002")], [case("R1", "U-001")])
    return data


def run(folder, *words, before=(), limit=None):
    def limited():
        if limit:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    return subprocess.run(
        [*before, *COMMAND, "--data", str(folder), *map(str, words)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=300,
        preexec_fn=limited,
    )  # fmt: skip


def large(folder):
    rows = [unit(f"U-{n:06}", site=f"{n * 7919 % 99991}") for n in range(60_000)]
    return write_rows(folder / "large.csv", rows)


def assert_as_before(folder):
    assert [f for f in self_check(folder / "store.duckdb") if f.is_fault] == []
    assert asked(folder, "SELECT batch, n_accepted FROM batches ORDER BY batch") == [
        (1, 2),
        (2, 1),
    ]
    assert asked(folder, "SELECT serial FROM units ORDER BY serial") == [
        ("U-001",),
        ("U-002",),
    ]
    assert pointer_fault(folder / "published") is None


def assert_told(done, says):
    assert done.returncode == 16, done.stderr
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_a_file_that_does_not_fit_is_not_stored_in_part(folder, tmp_path):
    file = large(tmp_path)
    room = (folder / "store.duckdb").stat().st_size + 300_000

    done = run(folder, "ingest", file, limit=room)

    assert_told(done, "store.duckdb could not be written: no space is left for it.")
    assert_as_before(folder)
    assert run(folder, "ingest", file).returncode == 0
    assert asked(folder, "SELECT count(*) FROM units") == [(60_002,)]


def test_figures_that_do_not_fit_leave_those_shown(folder):
    before = (folder / "published" / "CURRENT").read_text()

    done = run(folder, "publish", "--as-of", "2025-12-01", limit=20_000)

    assert_told(done, "could not be written: no space is left for it.")
    assert (folder / "published" / "CURRENT").read_text() == before
    assert list((folder / "published").glob(f"{UNFINISHED}*")) == []
    assert_as_before(folder)


@pytest.mark.parametrize("words", [["backup", "copy.duckdb"], ["forget", "U-001"]])
def test_a_copy_that_does_not_fit_leaves_nothing_behind(folder, words):
    words = [str(folder / w) if w.endswith(".duckdb") else w for w in words]

    done = run(folder, *words, limit=300_000)

    assert_told(done, "could not be written: no space is left for it.")
    assert_as_before(folder)
    assert [p.name for p in folder.glob("*.duckdb*")] == ["store.duckdb"]


def test_in_a_folder_that_may_not_be_written_is_read_and_not_written(folder, tmp_path):
    file = write_rows(tmp_path / "more.csv", [unit("U-003")])
    before = read_only(folder)
    try:
        stored = run(folder, "ingest", file, before=before)
        shown = run(folder, "publish", "--as-of", "2025-12-01", before=before)
        asked_for = run(folder, "case", "R1", before=before)
        modes = run(folder, "quality", before=before)
    finally:
        for place in (folder, folder / "published"):
            place.chmod(0o755)

    for done, name in ((stored, "store.duckdb"), (shown, "published")):
        assert_told(done, f"{name} could not be opened or written: ")
    assert "R1" in asked_for.stdout
    assert modes.returncode == 0
    assert_as_before(folder)


def read_only(folder):
    """Let the folder not be written; return what must stand before a command."""
    if os.geteuid() != 0:
        for place in (folder / "published", folder):
            place.chmod(0o555)
        return ()
    before = (*MOUNT, str(folder))
    if subprocess.run([*before, "true"], check=False, capture_output=True).returncode:
        words = "root may write everywhere here, and may not mount"
        if os.environ.get("CI") == "true":
            pytest.fail(f"{words}. In CI that is a failure.")
        pytest.skip(words)
    return before


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
@pytest.mark.parametrize("words", [["rejected"], ["export", "units"]])
def test_a_file_that_cannot_be_written_is_named_in_a_sentence(folder, words, suffix):
    write_rows(folder / "bad.csv", [unit("?")])
    run(folder, "ingest", folder / "bad.csv")
    (folder / "a file").write_text("")

    done = run(folder, *words, "--out", folder / "a file" / f"out{suffix}")

    assert done.returncode == 16
    assert done.stderr.startswith(f"error: {folder / 'a file'} could not be opened")


def test_the_folder_of_a_correction_file_is_made(folder):
    write_rows(folder / "bad.csv", [unit("?")])
    run(folder, "ingest", folder / "bad.csv")

    done = run(folder, "rejected", "--out", folder / "new" / "fix.csv")

    assert done.returncode == 0
    assert (folder / "new" / "fix.csv").exists()
