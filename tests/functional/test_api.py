"""The HTTP API on a published invented fleet: answers, and errors as problems."""

import csv
import io

import pytest
from fastapi.testclient import TestClient

from dashboard.api.app import api
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries import life, modes, quality, suggest


@pytest.fixture
def client(place, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(place.data))
    return TestClient(api, raise_server_exceptions=False)


def test_a_route_gives_the_answer_of_its_query(client, snapshot):
    filters = Filters(component=("handle",))

    assert (
        client.get("/modes", params={"component": "handle"}).json()
        == modes.modes(snapshot, filters).document()
    )
    assert client.get("/life").json() == life.life(snapshot, Filters()).document()
    assert (
        client.get("/quality").json() == quality.quality(snapshot, Filters()).document()
    )


def test_a_filter_may_be_repeated(client):
    rows = client.get(
        "/modes", params={"mode": ["handle_pilot_open", "contactor_welded"]}
    ).json()["rows"]

    assert {row["mode"] for row in rows} <= {"handle_pilot_open", "contactor_welded"}


def test_the_law_of_a_life_answer_can_be_chosen(client):
    answer = client.get("/life", params={"distribution": "lognormal"}).json()

    assert set(answer["fit"]["parameters"]) == {"mu", "sigma"}


def test_the_rows_set_aside_are_told(client):
    rows = client.get("/rejected").json()["rows"]

    assert any("missing" in row["problems"] for row in rows)


def test_one_case_and_its_unit_are_told(client):
    first = client.get("/cases").json()["rows"][0]

    case = client.get(f"/cases/{first['case_id']}").json()
    unit = client.get(f"/units/{first['serial'].lower()}").json()

    assert case["rows"][0]["serial"] == first["serial"]
    assert first["case_id"] in {row["case_id"] for row in unit["cases"]}


def test_a_table_comes_as_a_file_with_its_origin(client, snapshot):
    response = client.get("/export/modes", params={"component": "handle"})

    rows = list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))
    assert response.headers["Content-Disposition"] == 'attachment; filename="modes.csv"'
    assert {row["snapshot"] for row in rows} == {snapshot.about.snapshot}
    assert {row["data"] for row in rows} == {"invented data"}


@pytest.mark.parametrize("kind", ["csv", "xlsx", "parquet", "json"])
@pytest.mark.parametrize(
    "table", ["modes", "life", "cases", "units", "quality", "rejected"]
)
def test_every_table_comes_in_every_kind(client, table, kind):
    response = client.get(f"/export/{table}", params={"format": kind})

    assert response.status_code == 200
    assert response.content


def assert_problem(response, status, words):
    body = response.json()
    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    assert words in body["detail"]
    assert body["hint"]
    assert body["status"] == status


def test_an_unknown_code_is_a_problem_that_names_the_nearest(client):
    response = client.get("/modes", params={"mode": "handle_pilot_opn"})

    assert_problem(response, 422, "the nearest is handle_pilot_open")


def test_an_unknown_filter_is_a_problem(client):
    assert_problem(client.get("/modes", params={"colour": "red"}), 422, "colour")


def test_an_unknown_case_is_a_problem(client):
    assert_problem(client.get("/cases/NONE"), 404, "There is no case NONE")


def test_an_unknown_table_is_a_problem(client):
    assert_problem(client.get("/export/mods"), 404, "There is no table mods")


def test_an_unknown_route_is_a_problem(client):
    assert_problem(client.get("/nothing"), 404, "/nothing")


def test_too_few_failures_are_a_problem_that_says_how_many_are_needed(client):
    response = client.get("/life", params={"model": "No Such Model"})

    assert_problem(response, 409, "needed at least 1 units with usable dates")


def test_nothing_published_is_a_problem_to_try_again_later(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(tmp_path))

    response = TestClient(api).get("/modes")

    assert_problem(response, 503, "No figures have been published")
    assert response.headers["Retry-After"] == "60"


def test_a_fault_of_the_program_is_a_problem_too(client, monkeypatch):
    def fail(*_: object) -> None:
        raise RuntimeError("unexpected")

    monkeypatch.setattr("dashboard.queries.modes.catalogue.failure_modes", fail)

    assert_problem(client.get("/modes"), 500, "failed")


def test_the_description_names_problems_and_where_it_is_served(client):
    description = client.get("/openapi.json").json()

    assert description["servers"] == [{"url": "/api/v1"}]
    responses = description["paths"]["/life"]["get"]["responses"]
    for status in ("409", "422", "503"):
        problem = responses[status]["content"]["application/problem+json"]["schema"]
        assert {"title", "status", "detail", "hint"} <= set(problem["required"])


def test_a_suggestion_is_that_of_its_query(client, snapshot, place):
    words = {
        "symptom": ["handle_hot", "burning_smell"],
        "not_symptom": "fails_when_wet",
    }

    response = client.get("/suggest", params=words)

    asked = suggest.suggest(
        snapshot, suggest.Intake.of(words), settings=place.settings()
    )
    assert response.json() == asked.document()
    assert "no-store" not in response.headers.get("cache-control", "")


def test_an_answer_to_readings_is_kept_by_no_cache(client):
    response = client.get("/suggest", params={"reading": "proved_dead=pass"})

    gate = {row["check"]: row["outcome"] for row in response.json()["gate"]}
    assert gate["proved_dead"] == "pass"
    assert response.headers["cache-control"] == "no-store"


def test_nothing_live_is_answered_before_the_gate(client):
    checks = client.get("/suggest", params={"symptom": "charge_does_not_start"}).json()

    assert checks["checks"]
    assert {row["hazard"] for row in checks["checks"]} <= {
        "dead",
        "dead_500v",
        "extra_low_voltage",
    }


def test_a_wrong_reading_is_a_problem(client):
    response = client.get("/suggest", params={"reading": "proved_dead"})

    assert_problem(response, 422, "is not CHECK[@POINT][~CONDITION]=VALUE[UNIT]")


def test_writing_is_refused_as_no_method_of_the_route(client):
    response = client.post("/modes")

    assert_problem(response, 405, "POST /modes")
    assert response.headers["allow"] == "GET"


def test_every_status_that_a_route_documents_is_described_as_a_problem(client):
    description = client.get("/openapi.json").json()

    for path, verbs in description["paths"].items():
        assert set(verbs) == {"get"}, path
        for status, response in verbs["get"]["responses"].items():
            if status != "200":
                assert set(response["content"]) == {"application/problem+json"}, path
