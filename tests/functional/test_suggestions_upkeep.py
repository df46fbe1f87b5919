"""Suggestions kept for open cases, where files are taken back or a unit forgotten."""

import pytest

from ingest.upkeep.backup import backup, restore
from ingest.upkeep.forget import forget
from ingest.upkeep.self_check import self_check
from ingest.upkeep.undo import undo
from tests import small_fleet
from tests.open_cases import (
    CONFIRMED,
    JUNE,
    OPEN,
    UNITS,
    again,
    fared,
    kept,
    published,
    take_in,
)
from tests.small_fleet import case


@pytest.fixture
def folder(tmp_path):
    return published(tmp_path)


def test_taking_the_file_back_keeps_its_suggestions_out_of_the_figures(tmp_path):
    small_fleet.published(tmp_path, UNITS, CONFIRMED, as_of=JUNE)
    batch = take_in(tmp_path, *OPEN)
    again(tmp_path)
    before = repr(kept(tmp_path))

    undo(tmp_path / "store.duckdb", batch)
    found = fared(again(tmp_path))

    assert found == {}
    assert repr(kept(tmp_path)) == before
    checked = {one.check: one for one in self_check(tmp_path / "store.duckdb")}
    assert checked["suggestions_of_no_case"].n == 3
    assert not checked["suggestions_of_no_case"].is_fault
    take_in(tmp_path, *OPEN)
    assert {row["state"] for row in fared(again(tmp_path)).values()} == {"open"}
    assert repr(kept(tmp_path)) == before


def test_a_unit_forgotten_leaves_suggestions_and_no_trace_of_it(folder):
    before = repr(kept(folder))

    forget(folder / "store.duckdb", "A020", kind="serial")
    found = fared(again(folder))

    assert repr(kept(folder)) == before
    assert {row["state"] for row in found.values()} == {"open"}
    assert b"A020" not in (folder / "store.duckdb").read_bytes()


def test_a_backup_holds_the_suggestions(folder):
    before = repr(kept(folder))
    backup(folder / "store.duckdb", folder / "copy.duckdb")
    take_in(folder, case("R150", "A025"))
    again(folder)
    assert len(kept(folder)) == 4

    restore(folder / "copy.duckdb", folder / "store.duckdb", replace=True)

    assert repr(kept(folder)) == before
