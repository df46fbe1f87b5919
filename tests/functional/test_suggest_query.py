"""The suggestion as pages, routes and commands ask for it."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dashboard.queries.suggest import Intake, suggest
from dashboard.settings import ModelSettings, Settings
from ingest import catalogue
from ingest.errors import NotPublishedError, UsageError

GATE = [check.code for check in catalogue.checks().values() if check.gate]
PASSED = tuple(f"{code}=pass" for code in GATE)
UNBLOCKED_AT_FIRST = {"settings_and_log", "proved_dead"}


def ask(snapshot, **words):
    found = words.pop("models", {})
    return suggest(snapshot, Intake.of(words), settings=Settings(models=found))


def gate_of(answer):
    return {row["check"]: row["outcome"] for row in answer.more["gate"]}


def test_likely_modes_come_with_share_like_cases_and_reasons(snapshot):
    answer = ask(snapshot, symptom=["stops_when_cable_moved", "vehicle_not_detected"])

    shares = [row["probability"] for row in answer.rows]
    assert shares == sorted(shares, reverse=True)
    assert answer.rows[0]["mode"] in {"handle_pilot_open", "cable_pilot_open"}
    assert answer.rows[0]["n_like"] > 0
    assert answer.rows[0]["reasons"]
    assert "own cases" in answer.more["source"]


def test_the_first_check_is_to_prove_the_unit_dead_or_to_read_records(snapshot):
    answer = ask(snapshot, symptom=["stops_when_cable_moved"])

    free = [row["check"] for row in answer.more["checks"] if not row["blocked_by"]]
    assert set(free) <= UNBLOCKED_AT_FIRST
    assert answer.more["caution"].startswith("Qualified persons only")


def test_once_proved_dead_the_pilot_path_is_measured_first(snapshot):
    answer = ask(
        snapshot,
        symptom=["stops_when_cable_moved"],
        connector="type_1",
        reading=["proved_dead=pass"],
    )

    first = answer.more["checks"][0]
    assert first["check"] == "pilot_continuity"
    assert first["window"] == "at most 1 ohm"
    assert "CP" in first["points"]
    assert first["caution"]


def test_a_reading_out_of_its_window_moves_the_shares(snapshot):
    asked = {"symptom": ["stops_when_cable_moved"]}
    before = ask(snapshot, **asked)

    after = ask(
        snapshot, **asked, reading=["proved_dead=pass", "pilot_continuity=OLohm"]
    )

    def of_pilot(answer):
        return sum(
            row["probability"]
            for row in answer.rows
            if row["mode"].endswith("pilot_open")
        )

    assert of_pilot(after) > of_pilot(before)
    assert after.more["readings"][1]["outcome"] == "fail"


def test_live_checks_are_offered_only_behind_the_open_gate(snapshot):
    shut = ask(snapshot, reading=PASSED[:-1])
    opened = ask(snapshot, reading=PASSED)

    assert not any(row["hazard"] == "live" for row in shut.more["checks"])
    assert any(row["hazard"] == "live" for row in opened.more["checks"])
    assert opened.more["gate_is_open"]


def test_a_gate_check_that_failed_shuts_the_gate_again(snapshot):
    answer = ask(snapshot, reading=[*PASSED, "contactor_open=3ohm"])

    assert not any(row["hazard"] == "live" for row in answer.more["checks"])
    assert gate_of(answer)["contactor_open"] != "pass"


def test_a_failed_reading_asks_to_prove_the_unit_dead_again(snapshot):
    failed = ask(snapshot, reading=[*PASSED, "pilot_continuity=fail"])
    again = ask(
        snapshot, reading=[*PASSED, "pilot_continuity=fail", "proved_dead=pass"]
    )

    assert failed.more["checks"][0]["check"] == "proved_dead"
    assert not any(row["hazard"] == "live" for row in failed.more["checks"])
    assert not failed.more["gate_is_open"]
    assert any(row["hazard"] == "live" for row in again.more["checks"])


def test_after_a_live_check_every_dead_one_waits_until_proved_dead_again(snapshot):
    live = ask(snapshot, reading=[*PASSED, "pilot_voltage_terminals=12V"])
    again = ask(
        snapshot,
        reading=[*PASSED, "pilot_voltage_terminals=12V", "proved_dead=pass"],
    )

    waiting = [row for row in live.more["checks"] if row["hazard"] != "live"]
    assert all(
        row["blocked_by"] or row["check"] in UNBLOCKED_AT_FIRST for row in waiting
    )
    assert any(row["hazard"] == "live" for row in live.more["checks"])
    assert any(
        row["hazard"] == "dead" and not row["blocked_by"]
        for row in again.more["checks"]
    )


@pytest.mark.parametrize("reading", ["earth_continuity=-5ohm", "earth_continuity=UL"])
def test_an_impossible_reading_never_opens_the_gate(snapshot, reading):
    try:
        answer = ask(snapshot, reading=[*PASSED, reading])
    except UsageError:
        return
    assert not any(row["hazard"] == "live" for row in answer.more["checks"])


@pytest.mark.parametrize("blank", ["", "  "])
def test_blank_words_are_unknown(blank):
    assert Intake.model_validate({"text": blank}).evidence() == {}


words_of = {
    "symptom": sorted(set(catalogue.codes("symptoms")) - {"none_reported"}),
    "finding": sorted(set(catalogue.codes("findings")) - {"clean"}),
}
outcomes = st.sampled_from(["pass", "fail", "not_done"])
any_readings = st.lists(
    st.builds("{}={}".format, st.sampled_from(sorted(catalogue.checks())), outcomes),
    max_size=12,
)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    symptoms=st.lists(st.sampled_from(words_of["symptom"]), max_size=3),
    findings=st.lists(st.sampled_from(words_of["finding"]), max_size=2),
    readings=any_readings,
)
def test_no_words_and_readings_bring_a_live_check_before_the_gate(
    snapshot, symptoms, findings, readings
):
    answer = ask(
        snapshot,
        symptom=symptoms,
        finding=findings,
        reading=readings,
    )

    gate = gate_of(answer)
    is_open = all(outcome == "pass" for outcome in gate.values())
    for row in answer.more["checks"]:
        assert row["hazard"] != "live" or is_open
        if gate["proved_dead"] != "pass" and not row["blocked_by"]:
            assert row["check"] in UNBLOCKED_AT_FIRST
    assert all(math.isfinite(row["probability"]) for row in answer.rows)


def test_the_maker_s_values_give_the_window_of_the_model(snapshot):
    models = {"Model A": ModelSettings(coil_ohm=500)}

    answer = ask(
        snapshot, model="Model A", models=models, reading=["contactor_coil=700ohm"]
    )

    assert answer.more["readings"][0]["outcome"] == "fail"
    assert "400 to 600" in answer.more["readings"][0]["window"]


def test_checks_of_the_other_connector_are_not_offered(snapshot):
    offered = {row["check"] for row in ask(snapshot, connector="type_2").more["checks"]}

    assert "proximity_latch_at_rest" not in offered
    assert "cable_coding" in offered


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"symptom": ["nonsense"]}, "symptom nonsense is not known"),
        (
            {"symptom": ["offline"], "not_symptom": ["offline"]},
            "both reported and denied",
        ),
        ({"reading": ["fuse_continuity"]}, "is not CHECK"),
        ({"reading": ["fuse_continuty=1ohm"]}, "the nearest is fuse_continuity"),
        ({"reading": ["fuse_continuity=1V"]}, "fuse_continuity=1V"),
        (
            {"connector": "type_2", "reading": ["proximity_latch_at_rest=150ohm"]},
            "proximity_latch_at_rest=150ohm",
        ),
        ({"age_days": -1}, "age_days"),
    ],
)
def test_what_cannot_be_read_is_named(snapshot, words, says):
    with pytest.raises(UsageError, match=says):
        ask(snapshot, **words)


def test_a_damaged_suggestion_says_how_to_make_it_again(snapshot, tmp_path):
    class Moved:
        about = snapshot.about
        suggester_folder = tmp_path / "gone"

    with pytest.raises(NotPublishedError, match=r"mendfleet publish --train"):
        suggest(Moved(), Intake(), settings=Settings())
