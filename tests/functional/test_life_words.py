"""The words of the question about lives: the same on route, command and export."""

import json

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from dashboard.api.app import api
from dashboard.cli.main import cli
from dashboard.filters import Filters
from dashboard.place import VARIABLE
from dashboard.queries.life import life
from dashboard.queries.life_parts import part
from ingest.errors import UsageError

WORDS = ["--by", "connector", "--age", "100", "--age", "200"]
ASKED = {"by": "connector", "age": (100.0, 200.0)}


@pytest.fixture
def client(place, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(place.data))
    return TestClient(api, raise_server_exceptions=False)


def run(place, *words):
    done = CliRunner().invoke(cli, ["--data", str(place.data), *words])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done


def test_route_and_command_give_the_answer_of_the_query(client, place, snapshot):
    expected = life(snapshot, Filters(), **ASKED).document()

    printed = run(place, "life", "--json", *WORDS).stdout

    assert json.loads(printed) == expected
    assert (
        client.get("/life", params={"by": "connector", "age": [100, 200]}).json()
        == expected
    )


def test_the_command_says_in_words_what_the_answer_holds(place, snapshot):
    found = life(snapshot, Filters(component=("handle",)), **ASKED).more

    shown = run(place, "life", "--component", "handle", *WORDS).stdout

    for name in ("frequency", "choice", "comparison", "without"):
        assert found[name]["sentence"] in shown
    for sentence in found["not_counted"]:
        assert sentence in shown


def test_the_command_says_what_a_choice_of_failures_takes_for_granted(place):
    words = "say what would be if no other failure existed"

    assert words in run(place, "life", "--component", "handle").stdout
    assert words not in run(place, "life").stdout


def test_the_command_says_that_failures_by_mode_count_at_any_age(place):
    assert "failures at any age" in run(place, "life").stdout


def test_an_age_that_no_unit_was_seen_to_is_told_in_words(place):
    lines = run(place, "life", "--age", "100", "--age", "9000").stdout.splitlines()

    begin = next(n for n, line in enumerate(lines) if line.startswith("by day"))
    seen, beyond = (line.strip().split("  ") for line in lines[begin + 1 : begin + 3])
    assert seen[0] == "100"
    assert beyond[0] == "9\u202f000"
    assert "not seen that long" in beyond


def test_an_assumed_shape_is_told_as_an_assumption(place):
    shown = run(place, "life", "--assumed-shape", "1", "--assumed-shape", "3").stdout

    assert "which is an assumption" in shown
    assert "shape, assumed" in shown


def test_a_part_is_exported_as_it_was_asked_for(client, place, snapshot, tmp_path):
    out = tmp_path / "groups.json"
    expected = part(life(snapshot, Filters(), **ASKED), "groups").document()

    run(place, "export", "life-groups", "--out", str(out), *WORDS)
    route = client.get(
        "/export/life-groups",
        params={"by": "connector", "age": [100, 200], "format": "json"},
    )

    assert json.loads(out.read_text("utf-8")) == expected
    assert route.json() == expected


def test_a_file_says_what_was_asked_beside_the_filters(client):
    lines = client.get(
        "/export/life-shares",
        params={"distribution": "lognormal", "age": 100, "component": "handle"},
    ).text.splitlines()

    assert len(lines) == 2
    assert "component: handle; distribution: lognormal; age: 100.0" in lines[1]


def test_words_about_lives_beside_another_table_are_refused(client, place, tmp_path):
    answer = client.get("/export/modes", params={"by": "model"})

    assert answer.status_code == 422
    assert "by cannot be asked of the table modes" in answer.json()["detail"]
    with pytest.raises(UsageError, match="by cannot be asked of the table modes"):
        run(place, "export", "modes", "--out", str(tmp_path / "m.csv"), "--by", "model")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"by": "colour"}, "by"),
        ({"age": "-3"}, "age -3 is not a number of days"),
        ({"group": ["A", "B"]}, "without the word that tells them apart"),
        ({"distribution": "normal"}, "distribution"),
    ],
)
def test_words_not_known_are_answered_with_a_problem(client, words, said):
    answer = client.get("/life", params=words)

    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert said in answer.json()["detail"]


def test_a_part_that_was_not_asked_for_is_not_found(client):
    answer = client.get("/export/life-groups")

    assert answer.status_code == 404
    assert "no table groups" in answer.json()["detail"]
