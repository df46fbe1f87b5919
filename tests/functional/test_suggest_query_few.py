"""The suggestion with too little behind it, or asked wrongly: what it says to do."""

import sys

import pytest
from fastapi.testclient import TestClient

from analytics.rollup.snapshot import current_snapshot
from dashboard.api.app import api
from dashboard.cli import main as command
from dashboard.place import VARIABLE
from dashboard.queries.suggest import Intake, suggest
from dashboard.queries.trained import trained_suggester
from dashboard.settings import Place
from ingest import catalogue
from tests.small_fleet import case, published, unit

UNITS = [unit(f"UN-{n:03}") for n in range(9)]
CONFIRMED = {"confirmed_mode": "fuse_open", "confirmed_on": "2025-06-20"}
HOT = {"symptom": ["supply_plug_hot"]}


def made(folder, cases):
    published(folder, UNITS, cases)
    return Place(folder)


@pytest.fixture(scope="module")
def unconfirmed(tmp_path_factory):
    """Return figures of four returns, none of them confirmed."""
    cases = [case(f"R{n}", f"UN-{n:03}") for n in range(4)]
    return made(tmp_path_factory.mktemp("unconfirmed"), cases)


@pytest.fixture(scope="module")
def no_returns(tmp_path_factory):
    """Return figures of units that never came back."""
    return made(tmp_path_factory.mktemp("none"), [])


@pytest.fixture(scope="module")
def one_class(tmp_path_factory):
    """Return figures of eight returns, all of them an open fuse."""
    cases = [case(f"R{n}", f"UN-{n:03}", **CONFIRMED) for n in range(8)]
    return made(tmp_path_factory.mktemp("one"), cases)


@pytest.fixture
def untrained(tmp_path):
    """Return figures whose suggester is gone."""
    place = made(tmp_path, [case("R1", "UN-001", **CONFIRMED)])
    folder = current_snapshot(place.published).suggester_folder
    (folder / "suggester.json").unlink()
    trained_suggester.cache_clear()
    return place


def ask(place, **words):
    snapshot = current_snapshot(place.published)
    return suggest(snapshot, Intake.of(words), settings=place.settings())


def by_route(place, monkeypatch, **words):
    monkeypatch.setenv(VARIABLE, str(place.data))
    return TestClient(api).get("/suggest", params=words)


def by_command(place, monkeypatch, capsys, *words):
    asked = ["mendfleet", "--data", str(place.data), "suggest", *words]
    monkeypatch.setattr(sys, "argv", asked)
    with pytest.raises(SystemExit) as stopped:
        command.main()
    return stopped.value.code or 0, capsys.readouterr()


@pytest.mark.parametrize("which", ["unconfirmed", "no_returns"])
def test_without_a_confirmed_return_the_shares_are_those_of_the_expert_table(
    which, request, open_page, read, monkeypatch, capsys
):
    place = request.getfixturevalue(which)

    answer = ask(place, **HOT)

    assert answer.more["n_cases"] == 0
    assert answer.more["source"] == "from the expert table, 0 own cases"
    # "Supply plug or outlet hot" names this mode first in the expert table.
    assert answer.rows[0]["mode"] == "supply_plug_overheated"
    assert {row["n_like"] for row in answer.rows} == {0}
    (hint,) = answer.more["hints"]
    assert hint.startswith("No return is confirmed yet")
    assert "mendfleet publish" in hint
    assert by_route(place, monkeypatch, **HOT).json()["hints"] == [hint]
    code, said = by_command(place, monkeypatch, capsys, "--symptom", *HOT["symptom"])
    assert (code, hint in said.out) == (0, True)
    assert "No return is confirmed yet" in read(open_page("suggest", of=place, **HOT))


def test_with_confirmed_returns_of_one_mode_it_is_said_which(
    one_class, open_page, read, monkeypatch, capsys
):
    answer = ask(one_class, **HOT)

    (hint,) = answer.more["hints"]
    label = catalogue.failure_modes()["fuse_open"].label
    assert hint.startswith(f"All 8 confirmed returns are confirmed as {label}:")
    assert len(answer.rows) > 1
    assert by_route(one_class, monkeypatch, **HOT).json()["hints"] == [hint]
    _, said = by_command(one_class, monkeypatch, capsys)
    assert hint in said.out
    assert f"confirmed as {label}" in read(open_page("suggest", of=one_class, **HOT))


def test_one_confirmed_return_alone_is_no_plural(tmp_path):
    place = made(tmp_path, [case("R1", "UN-001", **CONFIRMED)])

    (hint,) = ask(place).more["hints"]

    assert hint.startswith("The one confirmed return is")


def test_confirmed_returns_of_many_modes_need_no_hint(place):
    assert ask(place).more["hints"] == []


def test_without_a_trained_suggester_each_way_names_the_remedy(
    untrained, open_page, read, monkeypatch, capsys
):
    route = by_route(untrained, monkeypatch)
    code, said = by_command(untrained, monkeypatch, capsys)
    shown = read(open_page("suggest", of=untrained))

    assert route.status_code == 503
    assert "mendfleet publish --train" in route.text
    assert code == 14
    assert "mendfleet publish --train" in said.err
    assert "mendfleet publish --train" in shown


WRONG = [
    ({"symptom": "handle_hott"}, "the nearest is handle_hot"),
    ({"reading": "fuse_continuty=1ohm"}, "the nearest is fuse_continuity"),
    ({"reading": "fuse_continuity=1V"}, "fuse_continuity is measured in ohm"),
    (
        {"reading": "cable_coding=220ohm", "connector": "type_1"},
        "cable_coding applies to type_2 only",
    ),
    ({"reading": "fuse_continuity=a lot"}, "is not CHECK"),
]


@pytest.mark.parametrize(("words", "says"), WRONG)
def test_what_is_asked_wrongly_is_told_with_what_to_do(
    place, monkeypatch, capsys, words, says
):
    route = by_route(place, monkeypatch, **words)
    options = [part for k, v in words.items() for part in (f"--{k}", v)]
    code, said = by_command(place, monkeypatch, capsys, *options)

    assert route.status_code == 422
    assert route.headers["content-type"] == "application/problem+json"
    assert says in route.text
    assert code == 2
    assert says in " ".join(said.err.split())
    assert any(word in said.err for word in ("Correct", "nearest"))


@pytest.mark.parametrize(
    ("reading", "outcome", "says"),
    [
        ("pilot_continuity=OLohm", "fail", "outside the limit"),
        ("pilot_continuity=ULohm", "undefined", "Measure again"),
        ("earth_continuity=-5ohm", "undefined", "Measure again"),
        ("contactor_open=>999ohm", "undefined", "Measure again"),
    ],
)
def test_what_lies_beyond_the_range_of_the_instrument_is_judged_or_measured_again(
    place, monkeypatch, capsys, reading, outcome, says
):
    (row,) = ask(place, reading=[reading]).more["readings"]

    assert row["outcome"] == outcome
    assert says in row["meaning"]
    (routed,) = by_route(place, monkeypatch, reading=reading).json()["readings"]
    assert routed["meaning"] == row["meaning"]
    _, said = by_command(place, monkeypatch, capsys, "--reading", reading)
    assert row["meaning"] in said.out
