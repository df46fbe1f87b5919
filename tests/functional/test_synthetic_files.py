"""Exactly the planted rows are set aside, with their codes; all else is kept."""

import json
from pathlib import Path
from typing import Any

import duckdb
import pytest

from ingest.pipeline import ingest_paths
from ingest.quarantine import rejected_rows
from ingest.records import KINDS
from synthetic_data.fleet import FleetFiles, write_fleet


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("ingested")


@pytest.fixture(scope="module")
def written(folder: Path) -> FleetFiles:
    return write_fleet(folder / "files", n_units=400, seed=5)


@pytest.fixture(scope="module")
def truth(written: FleetFiles) -> dict[str, Any]:
    rows: dict[str, Any] = json.loads(written.truth.read_text("utf-8"))["rows"]
    return rows


@pytest.fixture(scope="module")
def report(folder: Path, written: FleetFiles) -> Any:
    return ingest_paths(folder / "store.duckdb", written.records(), origin="invented")


def test_counts_of_each_file_are_those_of_the_truth(
    report: Any, truth: dict[str, Any]
) -> None:
    for file in report.files:
        planted = truth[Path(file.file).name]
        n_wrong = planted["read"] - planted["good"]
        assert file.error is None
        assert (file.read, file.accepted, file.rejected) == (
            planted["read"],
            planted["good"],
            n_wrong,
        )
        assert (file.unchanged, file.replaced) == (0, 0)
    assert report.exit_code == 1


def test_every_planted_fault_is_reported_at_its_field_and_no_other(
    report: Any, truth: dict[str, Any]
) -> None:
    for file in report.files:
        planted = truth[Path(file.file).name]
        expected: dict[str, dict[str, int]] = {}
        for part in (planted["wrong"], planted["notices"]):
            for field, codes in part.items():
                expected.setdefault(field, {}).update(codes)
        assert file.problems == expected, file.file


@pytest.mark.usefixtures("report")
def test_each_rejected_row_has_one_problem(folder: Path, truth: dict[str, Any]) -> None:
    rows = rejected_rows(folder / "store.duckdb")

    n_wrong = sum(file["read"] - file["good"] for file in truth.values())
    assert len(rows) == n_wrong
    assert all(len(row.problems) == 1 for row in rows)


@pytest.mark.usefixtures("report")
def test_the_store_holds_every_good_row(folder: Path, truth: dict[str, Any]) -> None:
    with duckdb.connect(str(folder / "store.duckdb"), read_only=True) as store:
        counts = {
            kind: store.sql(f"SELECT count(*) FROM {kind}").fetchall()[0][0]  # noqa: S608 - names of views
            for kind in KINDS
        }

    assert counts == {Path(name).stem: file["good"] for name, file in truth.items()}


@pytest.mark.usefixtures("report")
def test_all_values_convert_to_the_unit_of_their_check(folder: Path) -> None:
    with duckdb.connect(str(folder / "store.duckdb"), read_only=True) as store:
        rows = store.sql(
            "SELECT count(*) FROM readings"
            " WHERE value IS NOT NULL AND quantity IS NULL AND bound IS NULL"
        ).fetchall()

    assert rows == [(0,)]


def test_the_same_files_again_change_nothing(
    folder: Path, written: FleetFiles, report: Any
) -> None:
    again = ingest_paths(folder / "store.duckdb", written.records(), origin="invented")

    for first, second in zip(report.files, again.files, strict=True):
        assert (second.accepted, second.replaced) == (0, 0)
        assert second.unchanged == first.accepted
        assert second.rejected == first.rejected
