"""The like cases behind a count: the same number as beside the suggestion, openable."""

import json
from urllib.parse import parse_qs

import duckdb
import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from analytics.rollup.snapshot import current_snapshot
from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.place import VARIABLE
from dashboard.queries.like_cases import like_cases
from dashboard.queries.suggest import Intake, suggest
from dashboard.settings import Place, Settings
from ingest.errors import UsageError
from tests import small_fleet
from tests.small_fleet import case, unit

MODE = "handle_pilot_open"
OTHER = "control_board_dead"
UNITS = [
    unit("A01"),
    unit("A02"),
    unit("A03", model="Model B"),
    unit("A04", connector="type_1", in_service_on="2023-01-01"),
    unit("A05", environment="exposed"),
    unit("A06"),
]
CASES = [
    case(
        "R1",
        "A01",
        received_on="2025-05-01",
        symptoms="stops_when_cable_moved;breaker_trips",
        confirmed_mode=MODE,
    ),
    case(
        "R2",
        "A02",
        received_on="2025-06-01",
        symptoms="stops_when_cable_moved",
        intake_findings="water_inside",
        charger_error_codes="GroundFailure",
        confirmed_mode=MODE,
    ),
    case(
        "R3",
        "A03",
        received_on="2025-07-01",
        symptoms="none_reported",
        symptoms_denied="breaker_trips",
        intake_findings="clean",
        confirmed_mode=MODE,
    ),
    case("R4", "A04", symptoms="breaker_trips", confirmed_mode=OTHER),
    case("R5", "A05", symptoms="stops_when_cable_moved"),  # open: no like case
    case("R6", "A06", symptoms_denied="breaker_trips", confirmed_mode=MODE),
]


@pytest.fixture(scope="module")
def known(tmp_path_factory):
    place = Place(tmp_path_factory.mktemp("like"))
    small_fleet.published(place.data, UNITS, CASES)
    return place


def listed(place, mode=MODE, **words):
    answer = like_cases(
        current_snapshot(place.published), Intake.of(words), mode, settings=Settings()
    )
    return [str(row["case_id"]) for row in answer.rows], answer


def test_cases_that_share_a_symptom_come_newest_first_with_what_is_shared(known):
    found, answer = listed(known, symptom=["stops_when_cable_moved"])

    assert found == ["R2", "R1"]
    assert answer.rows[0]["shared"] == "Stops when cable or handle is moved"
    assert answer.rows[0]["model"] == "Model A"
    assert "2 cases confirmed as" in answer.more["sentence"]
    assert answer.more["differs"] is None


def test_a_finding_or_an_error_word_is_enough_and_a_case_counts_once(known):
    found, answer = listed(
        known,
        symptom=["stops_when_cable_moved"],
        finding=["water_inside"],
        error_word=["GroundFailure"],
    )

    assert found == ["R2", "R1"]
    assert len(str(answer.rows[0]["shared"]).split("; ")) == 3
    assert listed(known, finding=["water_inside"])[0] == ["R2"]
    assert listed(known, error_word=["GroundFailure"])[0] == ["R2"]


def test_where_something_was_reported_the_model_alone_is_not_enough(known):
    assert listed(known, symptom=["breaker_trips"], model="Model B")[0] == ["R1"]


def test_without_any_of_these_the_rest_counts(known):
    found, answer = listed(known, model="Model B")

    assert found == ["R3"]
    assert answer.rows[0]["shared"] == "model"
    assert answer.more["by_rest"]
    denied, answer = listed(known, not_symptom=["breaker_trips"])
    assert denied == ["R3", "R6"]
    assert str(answer.rows[0]["shared"]).startswith("asked, answered no: ")


def test_clean_and_none_reported_are_shared_by_nobody(known):
    found, answer = listed(known, symptom=["none_reported"], finding=["clean"])

    assert found == []
    assert "Nothing is known of the return" in answer.more["sentence"]


def test_a_unit_named_by_its_serial_brings_its_model(known):
    assert listed(known, serial="A03")[0] == ["R3"]


WORDS = [
    {"symptom": ["stops_when_cable_moved"]},
    {"symptom": ["breaker_trips", "stops_when_cable_moved"], "model": "Model A"},
    {"finding": ["water_inside"], "not_symptom": ["breaker_trips"]},
    {"not_symptom": ["breaker_trips", "no_power_indication"]},
    {"model": "Model A"},
    {"age_days": 150},
    {"age_days": 0, "connector": "type_2"},
    {"age_days": 900, "environment": "exposed"},
    {"symptom": ["none_reported"], "finding": ["clean"]},
    {"serial": "A04"},
    {},
]


@pytest.mark.parametrize("words", WORDS)
def test_the_list_is_as_long_as_the_bench_counts(known, words):
    the_same_as_the_bench(known, words)


@pytest.mark.parametrize("words", WORDS[:-2])
def test_so_it_is_on_the_invented_fleet(place, words):
    the_same_as_the_bench(place, words | {"error_word": []})


def test_so_it_is_with_error_words_on_the_invented_fleet(place):
    the_same_as_the_bench(place, {"error_word": ["GroundFailure"]})
    the_same_as_the_bench(
        place,
        {"symptom": ["ground_fault_trips_sometimes"], "error_word": ["OtherError"]},
    )


def the_same_as_the_bench(place, words):
    snapshot = current_snapshot(place.published)
    said = suggest(snapshot, Intake.of(words), settings=Settings())

    for row in said.rows:
        found, answer = listed(place, str(row["mode"]), **words)
        assert len(found) == row["n_like"], (row["mode"], words)
        assert answer.more["n_like"] == row["n_like"]
        assert answer.more["differs"] is None


def test_page_route_and_command_tell_the_same(
    known, open_page, read, table_with, monkeypatch
):
    monkeypatch.setenv(VARIABLE, str(known.data))
    _, answer = listed(known, symptom=["stops_when_cable_moved"])
    expected = json.loads(json.dumps(answer.document()))

    with TestClient(api) as client:
        asked = {"mode": MODE, "symptom": "stops_when_cable_moved"}
        route = client.get("/suggest/like", params=asked)
    words = ["like", MODE, "--symptom", "stops_when_cable_moved"]
    command = CliRunner().invoke(cli, ["--data", str(known.data), *words, "--json"])
    printed = CliRunner().invoke(cli, ["--data", str(known.data), *words]).stdout
    page = open_page("like", of=known, mode=MODE, symptom=["stops_when_cable_moved"])

    assert route.json() == expected
    assert json.loads(command.stdout) == expected
    assert answer.more["sentence"] in printed
    assert "R2" in printed
    shown = read(page)
    assert answer.more["sentence"] in shown
    address = "/api/v1/suggest/like?mode=handle_pilot_open"
    assert f"{address}&symptom=stops_when_cable_moved" in shown
    table = table_with(page, "link", "shared")
    assert list(table["link"]) == ["case?case_id=R2", "case?case_id=R1"]


def test_readings_asked_along_are_not_looked_at_and_never_kept(known, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(known.data))
    asked = {"mode": MODE, "symptom": "breaker_trips"}

    with TestClient(api) as client:
        plain = client.get("/suggest/like", params=asked)
        noted = client.get(
            "/suggest/like", params=asked | {"reading": "proved_dead=pass"}
        )

    assert plain.json() == noted.json()
    assert noted.headers["Cache-Control"] == "no-store"


def test_an_unknown_mode_is_told_with_the_nearest(known, open_page, read, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(known.data))

    with pytest.raises(UsageError, match="handle_pilot_opn is not known") as error:
        listed(known, "handle_pilot_opn")
    with TestClient(api) as client:
        refused = client.get("/suggest/like", params={"mode": "handle_pilot_opn"})
        without = client.get("/suggest/like")

    assert "handle_pilot_open" in str(error.value.hint)
    assert refused.status_code == without.status_code == 422
    shown = read(open_page("like", of=known, mode="handle_pilot_opn"))
    assert "The nearest is handle_pilot_open" in shown


def test_without_a_mode_the_page_leads_to_the_bench(known, open_page, read):
    shown = read(open_page("like", of=known))

    assert "The address names no mode" in shown


def test_an_intake_of_a_case_itself_finds_it_among_the_like(place):
    snapshot = current_snapshot(place.published)
    file = snapshot.folder / f"{snapshot.about.snapshot}.duckdb"
    with duckdb.connect(str(file), read_only=True) as connection:
        cases = connection.execute(
            "SELECT case_id, mode, symptoms FROM evidence WHERE mode IS NOT NULL "
            "AND symptoms NOT IN ('', 'none_reported') ORDER BY case_id LIMIT 20"
        ).fetchall()

    assert cases
    for case_id, mode, symptoms in cases:
        found, _ = listed(place, mode, symptom=symptoms.split(";"))
        assert case_id in found


def test_each_suspect_of_the_bench_leads_to_its_like_cases_without_readings(
    place, open_page
):
    words = {"symptom": ["handle_hot", "burning_smell"], "text": "hot"}
    said = suggest(
        current_snapshot(place.published), Intake.of(words), settings=Settings()
    )

    page = open_page("suggest", of=place, reading=["proved_dead=pass"], **words)

    links = [part.proto for part in page.get("page_link")]
    queries = [parse_qs(link.query_string) for link in links if link.page == "like"]
    with_like = [row for row in said.rows if row["n_like"]]
    assert said.more["enough_evidence"]
    assert with_like
    assert queries == [
        {
            "symptom": ["handle_hot", "burning_smell"],
            "text": ["hot"],
            "mode": [str(row["mode"])],
        }
        for row in with_like
    ]
