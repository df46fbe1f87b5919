"""An event of OCPP 2.x becomes evidence of its case, and of every way to suggest."""

import json
import tomllib

import openpyxl
import pytest
from fastapi.testclient import TestClient

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.api.app import api
from dashboard.place import VARIABLE
from dashboard.queries.suggest import Intake, suggest
from dashboard.settings import Place, Settings
from ingest.mapping import parse_mapping, suggest_mapping
from ingest.pipeline import ingest_paths
from ingest.records import KINDS
from ingest.template import write_template
from tests.small_fleet import AS_OF, case, unit, write_rows
from tests.status_calls import NOTIFY_EVENT

EVENT = "PowerContactor/Problem"


def status_file(folder, component, variable):
    call = json.loads(NOTIFY_EVENT)
    event = call[3]["eventData"][0]
    del event["techCode"]
    event["component"]["name"], event["variable"]["name"] = component, variable
    wrapped = {
        "serial": "U-1", "received_at": "2025-03-04T18:00:00Z", "message": call,
    }  # fmt: skip
    file = folder / "status.jsonl"
    file.write_text(json.dumps(wrapped) + "\n", encoding="utf-8")
    return file


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "data").mkdir()
    files = [
        write_rows(tmp_path / "units.csv", [unit("U-1"), unit("U-2")]),
        write_rows(
            tmp_path / "repairs.csv",
            [case("R1", "U-1", received_on="2025-03-10"), case("R2", "U-2")],
        ),
        status_file(tmp_path, *EVENT.split("/")),
    ]
    report = ingest_paths(tmp_path / "data" / "store.duckdb", files)
    assert report.exit_code == 0, report
    place = Place(tmp_path / "data")
    publish(place.store, place.published, as_of=AS_OF)
    return place


def shares(snapshot, words):
    intake = Intake.of({"symptom": ["charge_does_not_start"], "error_word": words})
    answer = suggest(snapshot, intake, settings=Settings())
    return {row["mode"]: row["probability"] for row in answer.rows}


def words_of(snapshot):
    rows = snapshot.ask("evidence").set_index("case_id")["charger_error_codes"]
    return {case_id: word for case_id, word in rows.items() if isinstance(word, str)}


def test_an_event_of_a_file_is_evidence_of_its_case_and_changes_the_suggestion(folder):
    snapshot = current_snapshot(folder.published)

    found = words_of(snapshot)
    assert found == {"R1": EVENT}
    with_it, without = shares(snapshot, [found["R1"]]), shares(snapshot, [])
    for mode in ("contactor_welded", "contactor_driver_fault"):
        assert with_it[mode] > without.get(mode, 0)
    assert with_it == shares(snapshot, ["PowerSwitchFailure"])


def test_an_event_without_links_changes_nothing_by_itself(folder):
    snapshot = current_snapshot(folder.published)

    assert shares(snapshot, ["TiltSensor/Active"]) == shares(snapshot, [])


@pytest.mark.parametrize("word", [EVENT, EVENT.replace("/", "%2F")])
def test_an_event_may_stand_in_an_address(folder, monkeypatch, word):
    monkeypatch.setenv(VARIABLE, str(folder.data))

    answer = TestClient(api).get(f"/suggest?error_word={word}")

    intake = Intake.of({"error_word": [EVENT]})
    snapshot = current_snapshot(folder.published)
    asked = suggest(snapshot, intake, settings=Settings())
    assert (answer.status_code, answer.json()) == (200, asked.document())


def test_events_may_stand_in_a_cell_beside_other_words(tmp_path):
    rows = [
        case("R1", "U-1", charger_error_codes="RCD/Tripped; GroundFailure;RCD/Tripped"),
        case("R2", "U-1", charger_error_codes="RCD/Melted"),
    ]
    file = write_rows(tmp_path / "repairs.csv", rows)

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert (report.accepted, report.rejected) == (1, 1)
    assert report.problems["charger_error_codes"] == {"unknown_code": 1}
    publish(tmp_path / "store.duckdb", tmp_path / "published", as_of=AS_OF)
    snapshot = current_snapshot(tmp_path / "published")
    assert words_of(snapshot) == {"R1": "RCD/Tripped;GroundFailure"}


SEPARATED = """
[separators]
charger_error_codes = "/"
"""


def test_an_event_stays_whole_where_its_sign_separates_codes(tmp_path):
    rows = [
        case("R1", "U-1", charger_error_codes="RCD/Tripped"),
        case("R2", "U-1", charger_error_codes="GroundFailure/WeakSignal"),
    ]
    file = write_rows(tmp_path / "repairs.csv", rows)

    drafted = suggest_mapping(file)
    mapping = parse_mapping(SEPARATED, name="own.toml")
    report = ingest_paths(tmp_path / "store.duckdb", [file], mapping=mapping)

    assert tomllib.loads(drafted)["separators"] == {"charger_error_codes": "/"}
    assert report.files[0].accepted == 2, report


def test_a_template_lists_the_events(tmp_path):
    write_template(KINDS["repairs"], tmp_path / "repairs.xlsx")

    book = openpyxl.load_workbook(tmp_path / "repairs.xlsx")
    listed = {cell.value for column in book["codes"].columns for cell in column}
    assert {EVENT, "RCD/Tripped", "CX026"} <= listed
