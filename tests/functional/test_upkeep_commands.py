"""The commands that look after the store, as a person types them."""

import json
import re

import duckdb
import pytest
from typer.testing import CliRunner

from analytics.rollup import published_files
from analytics.rollup.snapshot import current_snapshot
from dashboard.cli.main import cli
from dashboard.place import place_in_use
from dashboard.queries import forget as forget_query
from dashboard.queries.newer import newer_files
from dashboard.settings import Place
from ingest.errors import RefusedError, UserError
from ingest.quarantine import rejected_rows
from tests.small_files import asked
from tests.small_fleet import case, published, unit, write_rows


def run(folder, *words):
    done = CliRunner().invoke(cli, ["--data", str(folder), *map(str, words)])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def fleet(folder):
    return published(
        folder,
        [unit("U-001"), unit("U-002")],
        [case("R1", "U-001", technician="Wanda", symptom_text="asked Wanda")],
    )


def test_undo_takes_a_file_back_and_the_figures_follow(tmp_path):
    fleet(tmp_path)
    file = write_rows(tmp_path / "more.csv", [unit("U-001", model="B"), unit("U-003")])
    (report,) = json.loads(run(tmp_path, "ingest", "--json", file).stdout)["rows"]

    done = run(tmp_path, "undo", report["batch"])

    assert done.exit_code == 0
    assert "Batch 3 (units," in done.stdout
    assert "rows removed: 2\n" in done.stdout
    assert "mendfleet publish" in done.stderr
    assert asked(tmp_path, "SELECT serial, model FROM units ORDER BY ALL") == [
        ("U-001", "Model A"),
        ("U-002", "Model A"),
    ]
    quality = json.loads(run(tmp_path, "quality", "--json").stdout)
    run(tmp_path, "publish", "--as-of", "2026-01-01")
    again = json.loads(run(tmp_path, "quality", "--json").stdout)
    assert [row["file"] for row in again["files"]] == [
        row["file"] for row in quality["files"]
    ]


def test_figures_after_undo_are_those_without_the_file(tmp_path):
    before = fleet(tmp_path / "one").about.snapshot
    fleet(tmp_path / "two")
    for folder in ("one", "two"):
        place = tmp_path / folder
        extra = write_rows(place / "x.csv", [case("R2", "U-002")])
        run(place, "ingest", extra)
        run(place, "publish", "--as-of", "2026-01-01")

    run(tmp_path / "one", "undo", 3)
    done = run(tmp_path / "one", "publish", "--as-of", "2026-01-01")

    assert done.stdout.strip() == before
    assert (current_snapshot(tmp_path / "two" / "published").about.n_cases) == 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["undo", "9"], "There is no batch 9 in "),
        (["undo", "1"], r"Batch 1, .*units\.csv, was taken back on "),
        (["forget", "Nobody"], "There is no serial or technician Nobody"),
        (["restore", "nothing.duckdb", "--replace"], "There is no file nothing.duckdb"),
    ],
)
def test_what_cannot_be_done_is_refused_in_words(tmp_path, words, says):
    fleet(tmp_path)
    run(tmp_path, "undo", "1")

    with pytest.raises(UserError, match=says):
        run(tmp_path, *words)


def test_undo_twice_and_ingest_again_gives_a_new_number(tmp_path):
    fleet(tmp_path)
    run(tmp_path, "undo", "1")

    (report,) = json.loads(
        run(tmp_path, "ingest", "--json", tmp_path / "units.csv").stdout
    )["rows"]

    assert (report["batch"], report["accepted"]) == (3, 2)


def test_rows_that_a_file_had_corrected_wait_again(tmp_path):
    file = write_rows(tmp_path / "units.csv", [unit("U-001"), unit("U-002", phases=2)])
    run(tmp_path, "ingest", file)
    out = tmp_path / "fix.csv"
    run(tmp_path, "rejected", "--out", out)
    out.write_text(out.read_text("utf-8-sig").replace(",2,", ",3,"), "utf-8")
    run(tmp_path, "ingest", out)
    assert rejected_rows(tmp_path / "store.duckdb") == []

    done = run(tmp_path, "undo", 2)

    assert "wait again: 1" in done.stdout
    (row,) = rejected_rows(tmp_path / "store.duckdb")
    assert row.cells["serial"] == "U-002"


def test_forget_publishes_anew_for_the_same_day_without_the_name(tmp_path):
    before = fleet(tmp_path).about
    shown = tmp_path / "published"

    done = run(tmp_path, "forget", "wanda")

    assert re.search(r"The technician is gone-[0-9a-f]{12} now; rows", done.stdout)
    assert "brings the name back" in done.stderr
    after = current_snapshot(shown).about
    assert after.snapshot != before.snapshot
    assert after.as_of == before.as_of
    assert not (shown / f"{before.snapshot}.duckdb").exists()
    left = [p for p in shown.rglob("*") if p.is_file()]
    assert left
    assert not [p for p in left if b"wanda" in p.read_bytes().lower()]


def test_forget_publishes_nothing_where_nothing_was_published(tmp_path):
    run(tmp_path, "ingest", write_rows(tmp_path / "units.csv", [unit("U-001")]))

    done = run(tmp_path, "forget", "U-001")

    assert "The serial is GONE-" in done.stdout
    assert "published anew" not in done.stdout
    assert not (tmp_path / "published").exists()


def test_if_figures_cannot_be_made_anew_the_name_is_gone_all_the_same(
    tmp_path, monkeypatch
):
    fleet(tmp_path)

    def fails(*_, **__):
        raise RefusedError("Not published: a sum differs.", hint="")

    monkeypatch.setattr(forget_query, "publish", fails)

    with pytest.raises(RefusedError, match="a sum differs"):
        run(tmp_path, "forget", "Wanda")

    assert asked(tmp_path, "SELECT count(*) FROM repairs WHERE technician = 'Wanda'")
    assert list((tmp_path / "published").iterdir()) == []


def test_backup_and_restore_bring_every_row_back(tmp_path):
    fleet(tmp_path)
    copy = tmp_path / "copy.duckdb"

    done = run(tmp_path, "backup", copy)
    assert re.search(r"copy\.duckdb holds \d+ rows in \d+ tables", done.stdout)
    run(tmp_path, "undo", "2")
    run(tmp_path, "restore", copy, "--replace")

    assert asked(tmp_path, "SELECT case_id FROM repairs") == [("R1",)]


def test_a_whole_store_passes_and_a_lost_snapshot_is_a_fault(tmp_path):
    snapshot = fleet(tmp_path).about.snapshot

    done = run(tmp_path, "self-check")
    assert done.exit_code == 0
    assert "FAULT" not in done.stdout

    (tmp_path / "published" / f"{snapshot}.duckdb").unlink()
    with pytest.raises(RefusedError, match="Faults found: 1"):
        run(tmp_path, "self-check", "--json")
    assert "is not there" in published_files.pointer_fault(tmp_path / "published")


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda file, _: file.write_bytes(b"x" * 5000), "cannot be read"),
        (lambda file, other: other.replace(file), "holds the figures"),
    ],
)
def test_a_snapshot_that_is_another_or_damaged_is_a_fault(tmp_path, spoil, says):
    shown = tmp_path / "published"
    first = fleet(tmp_path).about.snapshot
    run(tmp_path, "publish", "--as-of", "2025-12-31")
    second = (shown / "CURRENT").read_text().strip()
    spoil(shown / f"{second}.duckdb", shown / f"{first}.duckdb")

    assert says in published_files.pointer_fault(shown)


def test_a_damaged_store_is_told_as_a_fault(tmp_path):
    fleet(tmp_path)
    file = tmp_path / "store.duckdb"
    content = bytearray(file.read_bytes())
    content[content.index(b"U-002")] ^= 1
    file.write_bytes(content)

    with pytest.raises(RefusedError, match="Faults found: "):
        run(tmp_path, "self-check")


def test_withdrawing_leaves_files_that_are_not_ours(tmp_path):
    fleet(tmp_path)
    own = tmp_path / "published" / "notes.txt"
    own.write_text("mine")

    assert published_files.withdraw(tmp_path / "published") == 2
    assert [p.name for p in (tmp_path / "published").iterdir()] == ["notes.txt"]
    assert published_files.withdraw(tmp_path / "nowhere") == 0
    assert published_files.pointer_fault(tmp_path / "published") is None


def test_a_publish_that_was_broken_off_does_not_hinder_the_next(tmp_path):
    fleet(tmp_path)
    shown = tmp_path / "published"
    left = shown / "unfinished-1.duckdb"
    left.write_bytes(b"half")
    left.with_name("unfinished-1.duckdb.wal").write_bytes(b"half")
    moved_out = left.with_name("unfinished-1.duckdb.tmp")
    moved_out.mkdir()
    (moved_out / "duckdb_temp_storage-0.tmp").write_bytes(b"half")
    running = shown / "unfinished-2.duckdb"

    with duckdb.connect(str(running)):
        run(tmp_path, "publish", "--as-of", "2025-12-31")
        assert running.exists()

    assert not list(shown.glob("unfinished-1*"))
    assert current_snapshot(shown).about.as_of.isoformat() == "2025-12-31"


def test_a_page_waits_and_a_command_does_not(monkeypatch, tmp_path):
    monkeypatch.setenv("MENDFLEET_DATA", str(tmp_path))

    assert place_in_use().wait_s == 2
    assert Place(tmp_path).wait_s == 0


def test_a_file_taken_back_makes_the_figures_old(tmp_path):
    about = fleet(tmp_path).about
    place = Place(tmp_path)
    file = write_rows(tmp_path / "more.csv", [unit("U-003")])
    assert newer_files(place, about) == 0

    run(tmp_path, "ingest", file)
    assert newer_files(place, about) == 1
    run(tmp_path, "undo", 3)
    assert newer_files(place, about) == 0

    run(tmp_path, "undo", 2)
    assert newer_files(place, about) == 1
