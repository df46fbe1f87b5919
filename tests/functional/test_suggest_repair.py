"""After a repair: what must pass, and that nothing read before it opens the gate.

What must pass is common practice, no source.
"""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dashboard.queries.suggest import Intake, suggest
from dashboard.settings import Settings
from ingest import catalogue
from ingest.errors import UsageError

GATE = [check.code for check in catalogue.checks().values() if check.gate]
PASSED = [f"{code}=pass" for code in GATE]
MENDED = {"mended": "handle_pilot_open", "disposition": "repaired"}
TYPE_2 = {"connector": "type_2", "symptom": ["stops_when_cable_moved"]}


def ask(snapshot, **words):
    return suggest(snapshot, Intake.of(words), settings=Settings())


def after(snapshot, *after_reading, **words):
    """Return the answer after a repair, with the whole gate passed before it."""
    given = {"reading": PASSED} | TYPE_2 | MENDED | words
    return ask(snapshot, **given, after_reading=list(after_reading))


def states(answer):
    rows = answer.more["after_repair"]["rows"]
    return {row["check"]: row["state"] for row in rows}


def test_before_a_repair_there_is_no_such_list(snapshot):
    assert ask(snapshot, reading=PASSED, **TYPE_2).more["after_repair"] is None


def test_what_passed_before_the_repair_opens_no_gate_after_it(snapshot):
    assert ask(snapshot, reading=PASSED, **TYPE_2).more["gate_is_open"]

    answer = after(snapshot)

    assert not answer.more["gate_is_open"]
    assert set(states(answer).values()) == {"not_done"}
    assert {"pilot_continuity", "soak", "charge_test", *GATE} <= set(states(answer))
    free = [row["check"] for row in answer.more["checks"] if not row["blocked_by"]]
    assert free == ["proved_dead"]
    assert not any(row["hazard"] == "live" for row in answer.more["checks"])


def test_live_checks_come_once_every_gate_check_has_passed_after_the_repair(snapshot):
    shut = after(snapshot, *PASSED[:-1])
    opened = after(snapshot, *PASSED)

    assert not any(row["hazard"] == "live" for row in shut.more["checks"])
    waiting = {
        row["check"]
        for row in shut.more["after_repair"]["rows"]
        if row["waits_for_gate"]
    }
    assert "charge_test" in waiting
    offered = {row["check"] for row in opened.more["checks"]}
    assert {"charge_test", "soak", "pilot_continuity"} == offered
    assert not any(row["waits_for_gate"] for row in opened.more["after_repair"]["rows"])


def test_all_passed_says_only_that_every_check_has_passed(snapshot):
    wanted = states(after(snapshot))

    answer = after(snapshot, *PASSED, *(f"{c}=pass" for c in wanted if c not in GATE))

    repair = answer.more["after_repair"]
    assert set(states(answer).values()) == {"pass"}
    assert (
        f"every check listed has passed ({len(wanted)} of {len(wanted)})"
        in (repair["words"])
    )
    assert "was not confirmed by its check" in repair["words"]
    assert "may go back" not in repair["words"]
    # It was powered for the charge: nothing is touched before it is proved dead.
    assert [row["check"] for row in answer.more["checks"]] == ["proved_dead"]


def test_a_check_that_failed_after_the_repair_asks_for_another(snapshot):
    answer = after(snapshot, *PASSED, "pilot_continuity=3ohm")

    assert states(answer)["pilot_continuity"] == "fail"
    assert "repair it again" in answer.more["after_repair"]["words"]
    assert answer.more["checks"][0]["check"] == "proved_dead"
    assert not any(row["hazard"] == "live" for row in answer.more["checks"])


def test_the_shares_stay_those_of_the_fault(snapshot):
    found = {"reading": ["proved_dead=pass", "pilot_continuity=OLohm"]} | TYPE_2
    before = ask(snapshot, **found)

    answer = ask(
        snapshot, **found, **MENDED, after_reading=[*PASSED, "pilot_continuity=0.1ohm"]
    )

    assert answer.rows == before.rows
    assert answer.more["verdicts"] == before.more["verdicts"]
    assert [row["check"] for row in answer.more["readings"]] == [
        "proved_dead",
        "pilot_continuity",
    ]


def test_points_still_missing_after_the_repair_are_named(snapshot):
    answer = after(snapshot, "proved_dead=pass", "earth_continuity@handle=0.05ohm")

    row = next(
        r
        for r in answer.more["after_repair"]["rows"]
        if r["check"] == "earth_continuity"
    )
    assert (row["state"], row["missing_points"]) == ("incomplete", ["metal"])
    offered = {r["check"]: r for r in answer.more["checks"]}
    assert offered["earth_continuity"]["missing_points"] == ["metal"]


def test_a_finding_of_intake_waits_for_the_inspection_after_the_repair(snapshot):
    finding = {"finding": ["water_inside"]}
    seen = ["visual_inspection@water_inside=pass"]

    before = after(snapshot, **finding, reading=[*PASSED, *seen])
    again = after(snapshot, *PASSED, **finding)

    assert before.more["findings_open"] == []
    assert states(before)["visual_inspection"] != "pass"
    assert again.more["findings_open"] == []
    assert again.more["gate_is_open"]


@pytest.mark.parametrize("disposition", ["scrapped", "unit_replaced"])
def test_what_does_not_go_back_has_nothing_to_pass(snapshot, disposition):
    answer = after(snapshot, disposition=disposition)

    assert answer.more["after_repair"]["rows"] == []
    assert "nothing has to pass" in answer.more["after_repair"]["words"]
    assert answer.more["checks"] == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"mended": "fuse_open"}, "mended needs disposition"),
        ({"disposition": "repaired"}, "disposition needs mended"),
        ({"after_reading": ["proved_dead=pass"]}, "say first what was repaired"),
        (MENDED | {"mended": "fuse_opn"}, "the nearest is fuse_open"),
        (MENDED | {"disposition": "mended"}, "disposition mended is not known"),
        (MENDED | {"after_reading": ["fuse_continuity=1V"]}, "fuse_continuity=1V"),
        (MENDED | {"after_reading": ["fuse"]}, "is not CHECK"),
    ],
)
def test_half_a_repair_says_what_is_missing(snapshot, words, says):
    with pytest.raises(UsageError, match=says):
        ask(snapshot, **words)


outcomes = st.sampled_from(["pass", "fail", "not_done"])
any_readings = st.lists(
    st.builds("{}={}".format, st.sampled_from(sorted(catalogue.checks())), outcomes),
    max_size=10,
)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    readings=any_readings,
    later=any_readings,
    disposition=st.sampled_from(sorted(catalogue.codes("dispositions"))),
    mended=st.sampled_from(sorted(catalogue.failure_modes())),
)
def test_no_readings_bring_a_live_check_after_a_repair_before_its_gate(
    snapshot, readings, later, disposition, mended
):
    answer = ask(
        snapshot,
        reading=[*PASSED, *readings],
        after_reading=later,
        mended=mended,
        disposition=disposition,
    )

    last = {}
    for reading in later:
        check, _, outcome = reading.partition("=")
        last[check] = outcome
    is_open = all(last.get(code) == "pass" for code in GATE)
    assert answer.more["gate_is_open"] <= is_open
    for row in answer.more["checks"]:
        assert row["hazard"] != "live" or is_open
    # A check counts as passed only by what was read after the repair.
    for check, state in states(answer).items():
        assert state != "pass" or last[check] == "pass"
