"""What may be said of a case: places, the protocol, answers to what no reading says."""

import json
import sys

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from analytics.advice.protocol import ELSEWHERE
from dashboard.api.app import api
from dashboard.cli.main import cli, main
from dashboard.place import VARIABLE
from dashboard.queries.suggest import NOT_OFFERED, Intake, suggest
from dashboard.queries.suggest_bench import LEFT_OFF, PLUGS
from dashboard.settings import Settings
from ingest import catalogue
from ingest.errors import UsageError

CHECKS = catalogue.checks()
PASSED = [f"{code}=pass" for code, check in CHECKS.items() if check.gate]
SOFT = ["proved_dead=pass", "contactor_close@L1=9mohm", "contactor_close@N=2mohm"]
ASKED = "terminals tight"
WRONG_USAGE = 2


def ask(snapshot, **words):
    return suggest(snapshot, Intake.of(words), settings=Settings()).more


def verdict(more, mode):
    return next(row for row in more["verdicts"] if row["mode"] == mode)


@pytest.mark.parametrize(
    ("answers", "state"),
    [
        ({}, "confirmed_if"),
        ({"met": [ASKED]}, "confirmed"),
        ({"not_met": [ASKED]}, "not_confirmed"),
    ],
)
def test_what_no_reading_says_confirms_only_once_answered(snapshot, answers, state):
    more = ask(snapshot, connector="type_2", reading=SOFT, **answers)

    found = verdict(more, "contactor_high_resistance")
    assert found["state"] == state
    assert (found["asks"] == [ASKED]) == (not answers)
    assert found["met"] == answers.get("met", [])
    assert found["not_met"] == answers.get("not_met", [])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"met": ["terminals tigth"]}, "the nearest is terminals tight"),
        ({"met": [ASKED], "not_met": [ASKED]}, "cannot be both met and not met"),
        ({"claim": "fuse_open"}, "claim fuse_open is not known"),
        ({"claim_reason": "the customer says so"}, "claim_reason needs claim"),
        ({"what_if": "fuse"}, "what_if fuse is not known"),
        ({"current_setting_a": 5}, "greater than or equal to 6"),
        ({"current_setting_a": 81}, "less than or equal to 80"),
    ],
)
def test_what_cannot_be_said_is_named(snapshot, words, says):
    with pytest.raises(UsageError, match=says):
        ask(snapshot, **words)


def test_readings_that_bracket_a_piece_say_where_it_lies(snapshot):
    bad = ["proved_dead=pass", "pilot_continuity=OLohm"]
    assert ask(snapshot, reading=bad)["places"] == []

    joint = ask(snapshot, reading=[*bad, "core_localisation@CP=0.2ohm"])["places"]
    core = ask(snapshot, reading=[*bad, "core_localisation@CP=OLohm"])["places"]

    assert [(row["place"], row["checks"]) for row in joint] == [
        ("handle_joint", ["pilot_continuity", "core_localisation"])
    ]
    assert core[0]["modes"] == ["cable_pilot_open"]
    assert "the cord" in core[0]["words"]


def test_nothing_found_is_said_by_the_protocol_or_for_a_reason(snapshot):
    claim = {"claim": "no_fault_found", "connector": "type_1"}
    assert ask(snapshot)["protocol"] is None

    left = ask(snapshot, reading=PASSED, **claim)["protocol"]
    stated = ask(snapshot, reading=PASSED, claim_reason="sent in error", **claim)
    failed = ask(snapshot, reading=[*PASSED, "fuse_continuity=fail"], **claim)

    assert left["state"] == "left"
    assert left["missing"]
    assert left["repeat"]
    assert left["words"].startswith("No fault found may not be said yet")
    assert stated["protocol"]["state"] == "by_reason"
    assert "for a stated reason: sent in error" in stated["protocol"]["words"]
    assert failed["protocol"]["state"] == "contradicted"


def test_a_fault_of_the_vehicle_needs_it_to_fail_elsewhere(snapshot):
    every = [
        f"{code}{'~flexed' if code == 'pilot_continuity' else ''}=pass"
        for code, check in CHECKS.items()
        if check.connector != "type_1"
    ]
    words = {
        "claim": "vehicle_side_fault",
        "connector": "type_2",
        "reading": [*every, *every],
    }

    open_ = ask(snapshot, **words)["protocol"]
    yes = ask(snapshot, **words, met=[ELSEWHERE])["protocol"]
    no = ask(snapshot, **words, not_met=[ELSEWHERE])["protocol"]

    assert (open_["state"], open_["asks"]) == ("met_if", [ELSEWHERE])
    assert (yes["state"], yes["asks"]) == ("met", [])
    assert no["state"] == "contradicted"


def test_the_current_setting_gives_the_window_of_the_duty(snapshot):
    # Duty law of SAE J1772 / IEC 61851-1 Annex A, secondary reading: 16 A is 26.7 %.
    reading = [*PASSED, "pilot_duty=26.7%"]

    known = ask(snapshot, connector="type_2", current_setting_a=16, reading=reading)
    other = ask(snapshot, connector="type_2", current_setting_a=32, reading=reading)
    unknown = ask(snapshot, connector="type_2", reading=reading)

    def last(more):
        return more["readings"][-1]["outcome"]

    assert (last(known), last(other), last(unknown)) == ("pass", "fail", "undefined")
    assert "set to 16 A" in known["unit"]["facts_words"]


def test_what_a_check_would_tell_is_told_when_asked(snapshot):
    words = {"symptom": ["stops_when_cable_moved"], "reading": ["proved_dead=pass"]}
    assert ask(snapshot, **words)["what_if"] is None

    first = ask(snapshot, **words)["first_check"]
    asked = ask(snapshot, **words, what_if=first["check"])["what_if"]
    waiting = ask(snapshot, **words, what_if="insulation_resistance")["what_if"]
    barred = ask(snapshot, **words, what_if="charge_test")["what_if"]

    assert asked == first
    assert [row["outcome"] for row in waiting["outcomes"]] == ["fail", "pass"]
    assert barred == {"check": "charge_test", "outcomes": [], "words": NOT_OFFERED}


@pytest.mark.parametrize("symptom", ["display_dead", "no_power_indication"])
def test_a_plug_left_off_is_looked_at_first_where_it_was_opened(snapshot, symptom):
    dark = {"symptom": [symptom], "reading": ["proved_dead=pass"]}

    opened = ask(snapshot, opened_before_arrival="yes", **dark)
    early = ask(snapshot, opened_before_arrival="yes", symptom=[symptom])
    closed = ask(snapshot, opened_before_arrival="no", **dark)

    assert opened["hints"] == [LEFT_OFF]
    assert opened["checks"][0]["check"] == PLUGS
    assert opened["first_check"]["check"] == PLUGS
    assert early["checks"][0]["check"] != PLUGS
    assert closed["hints"] == []


def test_route_and_command_give_what_the_query_gives(snapshot, place, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(place.data))
    words = {
        "symptom": ["display_dead"],
        "opened_before_arrival": "yes",
        "connector": "type_2",
        "finding": ["water_inside"],
        "reading": SOFT,
        "not_met": [ASKED],
        "claim": "vehicle_side_fault",
        "what_if": "fuse_continuity",
        "mended": "contactor_high_resistance",
        "disposition": "part_replaced",
        "after_reading": ["proved_dead=pass", "earth_continuity@handle=0.05ohm"],
        "current_setting_a": 16,
    }
    answer = suggest(snapshot, Intake.of(words), settings=place.settings())
    options = [
        part
        for name, given in words.items()
        for word in (given if isinstance(given, list) else [given])
        for part in (f"--{name.replace('_', '-')}", str(word))
    ]

    route = TestClient(api).get("/suggest", params=words)
    data = ["--data", str(place.data), "suggest"]
    shown = CliRunner().invoke(cli, [*data, *options]).stdout
    told = CliRunner().invoke(cli, [*data, *options, "--json"]).stdout

    assert route.json() == answer.document()
    assert route.headers["cache-control"] == "no-store"
    assert json.loads(told) == answer.document()
    more = answer.more
    assert LEFT_OFF in shown
    for row in (*more["verdicts"], more["protocol"], more["after_repair"]):
        assert row["words"] in shown
    for row in more["after_repair"]["rows"]:
        assert row["why"] in shown
    for row in more["what_if"]["outcomes"]:
        assert row["words"] in shown
    assert f'--met or --not-met "{ELSEWHERE}"' in shown
    assert "--after-reading visual_inspection@water_inside=pass" in shown


@pytest.mark.parametrize(
    ("words", "options"),
    [
        ({"met": ["terminals"]}, ["--met", "terminals"]),
        ({"mended": "fuse_open"}, ["--mended", "fuse_open"]),
        ({"claim": "fuse_open"}, ["--claim", "fuse_open"]),
        ({"current_setting_a": "5"}, ["--current-setting-a", "5"]),
        ({"what_if": "fuse"}, ["--what-if", "fuse"]),
        ({"after_reading": ["fuse"]}, ["--after-reading", "fuse"]),
    ],
)
def test_route_and_command_refuse_what_cannot_be_said_in_a_sentence(
    place, monkeypatch, capsys, words, options
):
    monkeypatch.setenv(VARIABLE, str(place.data))
    route = TestClient(api).get("/suggest", params=words)
    command = ["mendfleet", "--data", str(place.data), "suggest", *options]
    monkeypatch.setattr(sys, "argv", command)
    with pytest.raises(SystemExit) as ended:
        main()

    assert ended.value.code == WRONG_USAGE
    told = capsys.readouterr().err.strip().splitlines()
    assert told[0].startswith("error: ")
    assert "mendfleet suggest --help" in told[1]
    assert route.status_code in {400, 422}
    assert route.json()
