"""The files of the invented fleet: the same each time, complete, and planted right."""

import csv
import datetime as dt
import json
import re
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest

from synthetic_data import scenario, wrong_exposures, wrong_rows
from synthetic_data.__main__ import main
from synthetic_data.fleet import FleetFiles, draw_fleet, write_fleet
from synthetic_data.lives import DISPOSITIONS

SAMPLE = Path(__file__).parents[2] / "synthetic_data" / "sample"
CODES_PLANTED = {
    *("missing", "not_text", "too_long", "bad_pattern", "not_a_number"),
    *("out_of_range", "not_a_date", "unknown_code", "unknown_unit", "date_order"),
    *("duplicate_key_in_file", "currency_missing", "bad_encoding"),
    *("malformed_row", "malformed_message"),
}


def read_csv(file: Path) -> list[dict[str, Any]]:
    with file.open(encoding="utf-8", errors="surrogateescape", newline="") as lines:
        return list(csv.DictReader(lines))


def read_cells(file: Path) -> list[tuple[object, ...]]:
    with closing(openpyxl.load_workbook(file, read_only=True)) as book:
        return list(book["repairs"].iter_rows(values_only=True))


def read_cases(file: Path) -> list[dict[str, Any]]:
    header, *rows = read_cells(file)
    return [
        dict(zip(map(str, header), row, strict=True))
        for row in rows
        if str(row[0]) < "W-8"
    ]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> FleetFiles:
    return write_fleet(tmp_path_factory.mktemp("fleet"), n_units=1500, seed=3)


@pytest.fixture(scope="module")
def truth(written: FleetFiles) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(written.truth.read_text("utf-8"))
    return document


def test_the_same_arguments_give_the_same_bytes(
    written: FleetFiles, tmp_path: Path
) -> None:
    again = write_fleet(tmp_path, n_units=1500, seed=3)

    assert len(written.records()) == len(again.records()) == 7
    for file in (*written.records(), written.truth):
        assert file.read_bytes() == (tmp_path / file.name).read_bytes(), file.name


def test_another_seed_gives_another_fleet(written: FleetFiles, tmp_path: Path) -> None:
    other = write_fleet(tmp_path, n_units=1500, seed=4)

    assert other.units.read_bytes() != written.units.read_bytes()
    for file in written.records():
        assert (tmp_path / file.name).read_bytes() != file.read_bytes(), file.name


def test_the_committed_sample_is_what_the_generator_writes(tmp_path: Path) -> None:
    arguments = json.loads((SAMPLE / "truth.json").read_text("utf-8"))["arguments"]

    made = write_fleet(tmp_path, **arguments)

    assert arguments["n_units"] == 60
    for file in (*made.records(), made.truth):
        if file != made.repairs:
            assert file.read_bytes() == (SAMPLE / file.name).read_bytes(), file.name
    assert read_cells(made.repairs) == read_cells(SAMPLE / "repairs.xlsx")


def test_the_command_writes_a_file_of_each_kind_and_the_truth(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["--units", "30", "--seed", "2", "--out", str(tmp_path / "new")])

    names = [
        *("units.csv", "repairs.xlsx", "readings.csv", "shipments.csv"),
        *("planned_sales.csv", "usage.csv", "status.jsonl", "truth.json"),
    ]
    assert capsys.readouterr().out.split() == [
        str(tmp_path / "new" / name) for name in names
    ]
    assert all((tmp_path / "new" / name).stat().st_size > 0 for name in names)


def test_the_command_refuses_a_fleet_of_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["--units", "0", "--out", str(tmp_path)])

    assert "--units must be at least 1, got 0" in capsys.readouterr().err


def test_the_package_runs_as_a_module(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "synthetic_data", "--units", "5", "--out", "."]
    root = str(Path(__file__).parents[2])

    subprocess.run(command, cwd=tmp_path, env={"PYTHONPATH": root}, check=True)

    assert (tmp_path / "truth.json").exists()


def test_a_fleet_of_none_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1, got 0"):
        draw_fleet(0, 1)


def test_a_fleet_of_one_can_be_written(tmp_path: Path) -> None:
    made = write_fleet(tmp_path, n_units=1, seed=1)

    rows = json.loads(made.truth.read_text("utf-8"))["rows"]
    assert rows["units.csv"]["good"] == 1


def test_progress_is_told_every_thousand_rows_and_at_the_end(tmp_path: Path) -> None:
    told: list[tuple[str, int, int | None]] = []

    write_fleet(
        tmp_path, n_units=1200, progress=lambda *arguments: told.append(arguments)
    )

    of_units = [entry for entry in told if entry[0] == "units.csv"]
    assert of_units == [("units.csv", 1000, 1211), ("units.csv", 1211, 1211)]


def test_every_problem_code_of_these_files_is_planted_once_or_twice_a_field(
    truth: dict[str, Any],
) -> None:
    planted = [
        (code, count)
        for file in truth["rows"].values()
        for codes in file["wrong"].values()
        for code, count in codes.items()
    ]

    assert {code for code, _ in planted} == CODES_PLANTED
    assert all(1 <= count <= 2 for _, count in planted)


def test_notices_are_planted(truth: dict[str, Any]) -> None:
    codes = {
        code
        for file in truth["rows"].values()
        for notices in file["notices"].values()
        for code in notices
    }

    assert codes == {"unknown_column", "unknown_serial", "unknown_case"}


def test_row_counts_of_the_truth_are_those_of_the_files(
    written: FleetFiles, truth: dict[str, Any]
) -> None:
    rows = truth["rows"]

    for file in written.records():
        if file.suffix == ".csv":
            assert len(read_csv(file)) == rows[file.name]["read"], file.name
    n_lines = len(written.status.read_text("utf-8").splitlines())
    assert n_lines == rows["status.jsonl"]["read"]
    assert len(read_cells(written.repairs)) - 1 == rows["repairs.xlsx"]["read"]
    assert rows["units.csv"]["good"] == 1500
    assert rows["repairs.xlsx"]["good"] == truth["n_returns"] + 1


def test_planted_rows_do_not_grow_with_the_fleet(truth: dict[str, Any]) -> None:
    day = scenario.LAST_DAY
    counts = {
        "units.csv": wrong_rows.wrong_units({"in_service_on": day}, 1).wrong,
        "repairs.xlsx": wrong_rows.wrong_repairs("A-1").wrong,
        "readings.csv": wrong_rows.wrong_readings().wrong,
        "shipments.csv": wrong_exposures.wrong_shipments().wrong,
        "planned_sales.csv": wrong_exposures.wrong_planned().wrong,
        "usage.csv": wrong_exposures.wrong_usage("A-1").wrong,
        "status.jsonl": wrong_exposures.wrong_status("A-1").wrong,
    }

    assert {name: file["wrong"] for name, file in truth["rows"].items()} == counts


def test_one_reading_row_holds_a_byte_that_is_no_utf_8(written: FleetFiles) -> None:
    lines = written.readings.read_bytes().splitlines()
    broken = [line for line in lines if b"\xff" in line]

    assert len(broken) == 1
    rest = b"\n".join(line for line in lines if line not in broken).decode("utf-8")
    assert "Ω" in rest
    assert "±" in rest


def test_every_name_is_one_of_the_invented_ones(written: FleetFiles) -> None:
    units = [row for row in read_csv(written.units) if row["model"]]

    models = {model.name for model in scenario.MODELS}
    assert {row["model"] for row in units} == models
    assert {row["cable_supplier"] for row in units} == set(scenario.CABLE_SUPPLIERS)
    assert {row["region"] for row in units} == set(scenario.REGIONS)
    places = "|".join(scenario.REGIONS)
    good = [row for row in units if not row["serial"].startswith("X")]
    assert all(re.fullmatch(rf"({places}) \d{{3}}|", row["site"]) for row in good)
    cases = read_cases(written.repairs)
    assert all(re.fullmatch(r"T\d\d", case["technician"]) for case in cases)


def test_no_date_lies_after_the_last_day_or_out_of_order(
    written: FleetFiles, truth: dict[str, Any]
) -> None:
    last = dt.datetime.fromisoformat(truth["last_day"])
    days = ("failed_on", "received_on", "confirmed_on", "closed_on")

    for case in read_cases(written.repairs):
        known = [case[name] for name in days if case[name]]
        assert known == sorted(known)
        assert known[-1] <= last
        if case["last_known_good_on"]:
            assert case["last_known_good_on"] < case["failed_on"]
    for unit in read_csv(written.units):
        if unit["serial"] and not unit["serial"].startswith("X"):
            names = ("manufactured_on", "shipped_on", "in_service_on", "retired_on")
            known = [unit[name] for name in names if unit[name]]
            assert known == sorted(known)


def test_shares_of_text_and_error_words_are_near_what_was_asked_for(
    written: FleetFiles,
) -> None:
    cases = read_cases(written.repairs)
    n_cases = len(cases)
    told = [
        case
        for case in cases
        if (case["symptoms"] or "none_reported") != "none_reported"
    ]

    without_text = 1 - sum(bool(case["symptom_text"]) for case in told) / len(told)
    without_word = (
        1 - sum(bool(case["charger_error_codes"]) for case in cases) / n_cases
    )

    # Four standard errors of a share of these sizes.
    assert without_text == pytest.approx(0.30, abs=4 * (0.21 / len(told)) ** 0.5)
    assert without_word == pytest.approx(0.60, abs=4 * (0.24 / n_cases) ** 0.5)
    assert any(case["symptoms_denied"] for case in cases)
    assert any(case["intake_findings"] == "clean" for case in cases)


def test_denied_symptoms_were_not_reported(written: FleetFiles) -> None:
    for case in read_cases(written.repairs):
        told = set((case["symptoms"] or "").split(";")) - {""}
        denied = set((case["symptoms_denied"] or "").split(";")) - {""}
        assert not told & denied


def test_a_replacement_is_another_unit_of_the_model_put_in_service_later(
    written: FleetFiles,
) -> None:
    units = {row["serial"]: row for row in read_csv(written.units)[1:]}
    sent = [case for case in read_cases(written.repairs) if case["replaced_by_serial"]]

    assert sent
    assert len({case["replaced_by_serial"] for case in sent}) == len(sent)
    for case in sent:
        new, old = units[case["replaced_by_serial"]], units[case["serial"]]
        assert new["model"] == old["model"]
        began = new["in_service_on"]
        assert not began or began >= case["closed_on"].date().isoformat()
        assert old["retired_on"] == case["closed_on"].date().isoformat()


def test_repeat_returns_and_returns_without_a_failure_occur(
    written: FleetFiles,
) -> None:
    fleet = draw_fleet(1500, 3)
    returns = np.bincount(fleet.events.unit)
    modes = {case["confirmed_mode"] for case in read_cases(written.repairs)}

    assert (returns > 1).sum() >= 5
    assert {"no_fault_found", "vehicle_side_fault", "supply_out_of_range"} <= modes
    assert set(fleet.events.disposition.tolist()) <= set(range(len(DISPOSITIONS) + 1))
