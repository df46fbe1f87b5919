"""A name that is forgotten is nowhere in the store, older versions included."""

import json
import re

import pytest

from ingest import store
from ingest.errors import NoStoreError, NotFoundError, RefusedError, UsageError
from ingest.pipeline import Care, ingest_paths
from ingest.quarantine import rejected_rows
from ingest.set_aside import rejected_row_id
from ingest.upkeep import forget as forgetting
from ingest.upkeep.forget import forget
from ingest.upkeep.self_check import self_check
from ingest.upkeep.undo import undo
from tests.small_files import asked, ingested, write_csv

NAMES = ("UX-777", "Wanda")
HEAD = "case_id,serial,received_on,replaced_by_serial,technician,symptom_text,note\n"
REPAIRS = (
    HEAD + "R1,UX-777,2025-06-01,,wanda,Wanda says ux-777 hums; UX-7771 does not,\n"
    "R2,UX-778,2025-06-02,UX-777,Anna,quiet,like UX-777.\n"
    "R3,UX-777,soon,,Wanda,asked Wandafon,\n"
    "R4,UX-777-A,2025-06-04,,Anna,,\n"
)
STATUS = {
    "serial": "UX-777",
    "received_at": "2025-06-01T10:00:00Z",
    "message": json.dumps(
        [
            2,
            "m1",
            "StatusNotification",
            {
                "connectorId": 1,
                "errorCode": "OtherError",
                "status": "Faulted",
                "info": "unit UX-777",
            },
        ]
    ),
}


@pytest.fixture
def folder(tmp_path):
    ingested(tmp_path, "serial,model\nUX-777,A\nUX-778,A\nUX-777-A,A\n")
    ingested(tmp_path, "serial,model\nUX-777,B\nUX-778,A\n", name="UX-777.csv")
    ingested(tmp_path, "serial,model\nUX-777,B\n", name="again.csv")
    files = [
        write_csv(tmp_path, "repairs.csv", REPAIRS),
        write_csv(tmp_path, "usage.csv", "serial,month,sessions\nUX-777,2026-01,5\n"),
        write_csv(tmp_path, "status.jsonl", json.dumps(STATUS) + "\n"),
    ]
    ingest_paths(tmp_path / "store.duckdb", files, care=Care(keep_unknown=True))
    return tmp_path


def everything(folder):
    """Return all text of all tables."""
    with store.open_for_reading(folder / "store.duckdb") as connection:
        tables = connection.execute("SELECT table_name FROM duckdb_tables()").fetchall()
        return "\n".join(
            str(row)
            for (table,) in tables
            for row in connection.execute(f"FROM {table}").fetchall()
        )


def named(name):
    return re.compile(rf"(?<!\w){re.escape(name)}(?![\w-])", re.IGNORECASE)


@pytest.mark.parametrize("name", NAMES)
def test_the_name_is_in_no_table_and_no_block_afterwards(folder, name):
    file = folder / "store.duckdb"
    assert named(name).search(everything(folder))
    assert name.lower().encode() in file.read_bytes().lower()

    report = forget(file, f" {name.lower()} ")

    assert not named(name).search(everything(folder))
    left = file.read_bytes().lower().replace(b"ux-777-a", b"").replace(b"ux-7771", b"")
    assert name.lower().encode() not in left.replace(b"wandafon", b"")
    assert report.pseudonym in everything(folder)
    assert [p.name for p in folder.glob("store.duckdb*")] == ["store.duckdb"]


def test_every_version_of_a_unit_and_all_about_it_stay_together(folder):
    report = forget(folder / "store.duckdb", "UX-777")

    gone = report.pseudonym
    assert re.fullmatch(r"GONE-[0-9A-F]{12}", gone)
    assert asked(
        folder,
        "SELECT serial, model, batch FROM unit_versions ORDER BY batch, serial",
    ) == [
        (gone, "A", 1),
        ("UX-777-A", "A", 1),
        ("UX-778", "A", 1),
        (gone, "B", 2),
    ]
    assert asked(
        folder,
        "SELECT case_id, serial, replaced_by_serial, symptom_text FROM repairs "
        "ORDER BY case_id",
    ) == [
        ("R1", gone, None, f"Wanda says {gone} hums; UX-7771 does not"),
        ("R2", "UX-778", gone, "quiet"),
        ("R4", "UX-777-A", None, None),
    ]
    assert asked(folder, "SELECT serial FROM usage") == [(gone,)]
    assert asked(folder, "SELECT serial, message FROM status") == [
        (gone, STATUS["message"].replace("UX-777", gone))
    ]
    assert asked(folder, "SELECT cell FROM unknown_cells") == [(f"like {gone}.",)]


def test_a_technician_gets_one_name_in_whatever_letters_it_was_written(folder):
    report = forget(folder / "store.duckdb", "Wanda")

    gone = report.pseudonym
    assert re.fullmatch(r"gone-[0-9a-f]{12}", gone)
    assert asked(
        folder, "SELECT technician, symptom_text FROM repairs WHERE case_id = 'R1'"
    ) == [(gone, f"{gone} says ux-777 hums; UX-7771 does not")]
    (row,) = rejected_rows(folder / "store.duckdb")
    assert row.cells["technician"] == gone
    assert row.cells["symptom_text"] == "asked Wandafon"


def test_the_name_of_a_row_set_aside_follows_its_cells(folder):
    (before,) = rejected_rows(folder / "store.duckdb")

    forget(folder / "store.duckdb", "UX-777")

    (row,) = rejected_rows(folder / "store.duckdb")
    assert row.rejected_row == rejected_row_id("repairs", row.cells)
    assert row.rejected_row != before.rejected_row


def test_content_is_still_told_from_new_content(folder):
    report = forget(folder / "store.duckdb", "UX-777")

    again = ingested(
        folder, f"serial,model\n{report.pseudonym},A\nUX-778,A\n", name="new.csv"
    )

    assert (again.unchanged, again.accepted) == (2, 0)


def test_a_store_is_whole_and_undo_works_afterwards(folder):
    file = folder / "store.duckdb"
    gone = forget(file, "UX-777").pseudonym
    assert [f for f in self_check(file) if f.is_fault] == []

    undo(file, 2)

    versions = asked(folder, "SELECT serial, model, batch FROM unit_versions")
    assert sorted(versions)[:2] == [(gone, "A", 1), (gone, "B", 3)]
    assert [f for f in self_check(file) if f.is_fault] == []


def test_each_time_counts_so_that_figures_get_a_new_id(folder):
    for name in NAMES:
        forget(folder / "store.duckdb", name)

    assert asked(folder, "SELECT value FROM store_about WHERE key = 'forgotten'") == [
        ("2",)
    ]


def test_two_rows_set_aside_that_become_the_same_are_both_kept(tmp_path):
    ingested(
        tmp_path,
        "case_id,serial,received_on,technician\nR1,U-1,soon,Wanda\nR1,U-1,soon,WANDA\n",
        name="repairs.csv",
    )

    forget(tmp_path / "store.duckdb", "Wanda")

    rows = rejected_rows(tmp_path / "store.duckdb")
    assert len({row.rejected_row for row in rows}) == 2
    assert [f for f in self_check(tmp_path / "store.duckdb") if f.is_fault] == []


def test_a_name_that_is_both_must_be_said_which(tmp_path):
    ingested(
        tmp_path, "case_id,serial,received_on,technician\nR1,T07,2025-06-01,T07\n",
        name="repairs.csv",
    )  # fmt: skip
    file = tmp_path / "store.duckdb"

    with pytest.raises(RefusedError, match="T07 is both a serial and a technician"):
        forget(file, "T07")
    report = forget(file, "T07", kind="technician")

    assert asked(tmp_path, "SELECT serial, technician FROM repairs") == [
        ("T07", report.pseudonym)
    ]


@pytest.mark.parametrize(
    ("name", "kind", "error", "says"),
    [
        ("UX-999", None, NotFoundError, "There is no serial or technician UX-999"),
        ("Wanda", "serial", NotFoundError, "There is no serial Wanda"),
        ("UX-77", None, NotFoundError, "There is no serial or technician UX-77"),
        ("x", None, UsageError, "The name 'x' is too short"),
        ("Wanda", "customer", UsageError, "customer cannot be forgotten"),
    ],
)
def test_what_is_not_known_changes_nothing(folder, name, kind, error, says):
    before = everything(folder)

    with pytest.raises(error, match=says):
        forget(folder / "store.duckdb", name, kind=kind)

    assert everything(folder) == before


def test_broken_off_the_store_is_as_it_was(folder, monkeypatch):
    def fails(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(forgetting, "_rewritten", fails)
    before = everything(folder)

    with pytest.raises(KeyboardInterrupt):
        forget(folder / "store.duckdb", "UX-777")

    assert everything(folder) == before
    assert [p.name for p in folder.glob("store.duckdb*")] == ["store.duckdb"]


def test_a_copy_that_differs_does_not_take_the_place(folder, monkeypatch):
    found = iter([{"a": 1}, {"a": 2}])
    monkeypatch.setattr(forgetting.copies, "contents", lambda *_: next(found))

    with pytest.raises(RefusedError, match="does not hold the same"):
        forget(folder / "store.duckdb", "UX-777")

    assert named("UX-777").search(everything(folder))


def test_without_a_store_nothing_is_forgotten(tmp_path):
    with pytest.raises(NoStoreError):
        forget(tmp_path / "store.duckdb", "UX-777")
    assert list(tmp_path.iterdir()) == []
