"""Why a fault is suggested: the lines shown add up to the shares shown."""

import math

import pytest

from analytics.advice.gate import JudgedReading
from dashboard.queries.suggest import TOO_LITTLE, Intake, suggest
from dashboard.queries.suggest_checks import findings_open
from dashboard.queries.suggest_reasons import (
    EVERYTHING_ELSE,
    SHOWN_REASONS,
    reason_words,
)
from dashboard.settings import Settings
from ingest import catalogue

CASES = [
    {"symptom": ["stops_when_cable_moved", "vehicle_not_detected"]},
    {"symptom": ["handle_hot"], "text": "hot handle, smells burnt", "age_days": 900},
    {
        "symptom": ["stops_when_cable_moved"],
        "not_symptom": ["fails_when_wet"],
        "finding": ["pin_corrosion"],
        "error_word": ["GroundFailure"],
        "environment": "coastal",
        "connector": "type_1",
        "opened_before_arrival": "yes",
        "reading": ["proved_dead=pass", "pilot_continuity=OLohm"],
    },
    {"reading": ["proved_dead=pass", "earth_continuity=fail"]},
]


def ask(snapshot, words):
    return suggest(snapshot, Intake.of(words), settings=Settings())


@pytest.mark.parametrize("words", CASES)
def test_the_reasons_of_every_row_add_up_to_its_log_odds(snapshot, words):
    answer = ask(snapshot, words)

    # By definition: log-odds of two shares are the logarithm of their ratio.
    share = {row["mode"]: row["probability"] for row in answer.rows}
    for row in answer.rows:
        total = math.fsum(reason["log_odds"] for reason in row["reasons"])
        ratio = row["probability"] / share[row["against"]]
        assert total == pytest.approx(math.log(ratio), abs=1e-9)
        assert len(row["reasons"]) <= 2 * (SHOWN_REASONS + 1)
        for reason in row["reasons"]:
            assert reason["factor"] == pytest.approx(math.exp(reason["log_odds"]))


def test_the_first_is_compared_with_the_second_and_the_others_with_the_first(snapshot):
    rows = ask(snapshot, CASES[2]).rows

    assert rows[0]["against"] == rows[1]["mode"]
    assert {row["against"] for row in rows[1:]} == {rows[0]["mode"]}


def test_what_was_measured_is_a_line_of_its_own_and_said_to_move_the_shares(snapshot):
    before = ask(snapshot, CASES[0])
    after = ask(
        snapshot,
        CASES[0] | {"reading": ["proved_dead=pass", "pilot_continuity=OLohm"]},
    )

    def lines(answer):
        return {line["what"] for row in answer.rows for line in row["reasons"]}

    assert before.more["moved"] is None
    measured = f"{catalogue.checks()['pilot_continuity'].label} failed"
    assert measured not in lines(before)
    assert "moved the shares" in after.more["moved"]
    assert measured in lines(after)
    assert EVERYTHING_ELSE in lines(ask(snapshot, CASES[2]))


def test_reasons_carry_counts_that_lie_within_the_cases_of_the_mode(snapshot):
    first = ask(snapshot, CASES[0]).rows[0]

    counted = [line for line in first["reasons"] if line["n_of"]]
    assert counted
    assert all(0 <= line["n_seen"] <= line["n_of"] for line in counted)
    assert f"seen in {counted[0]['n_seen']} of" in reason_words(counted[0])
    labels = [catalogue.codes("symptoms")[code].label for code in CASES[0]["symptom"]]
    told = {line["what"] for line in counted if line["what"].startswith("reported")}
    assert told == {f'reported "{label}"' for label in labels}


def test_a_reading_that_tells_enough_ends_the_silence(snapshot):
    # A cut pilot core is in three modes alone: what it says is enough by itself.
    silent = ask(snapshot, {})
    told = ask(snapshot, {"reading": ["proved_dead=pass", "pilot_continuity=OLohm"]})

    assert not silent.more["enough_evidence"]
    assert silent.more["too_little"] == TOO_LITTLE
    assert told.more["enough_evidence"]
    assert told.more["too_little"] is None


def test_a_unit_that_was_opened_before_weakens_its_findings(snapshot):
    words = {"symptom": ["handle_hot"], "finding": ["pin_discoloured"]}
    no = ask(snapshot, words | {"opened_before_arrival": "no"})
    yes = ask(snapshot, words | {"opened_before_arrival": "yes"})

    def of_finding(answer):
        return sum(
            abs(line["log_odds"])
            for row in answer.rows
            for line in row["reasons"]
            if line["what"].startswith("found ")
        )

    assert 0 < of_finding(yes) < of_finding(no)


def test_a_finding_is_open_until_an_inspection_of_it_has_passed():
    def seen(outcome, point="water_inside"):
        return JudgedReading("visual_inspection", outcome, "diagnosis", point=point)

    assert findings_open(["water_inside", "label_missing"], []) == ["water_inside"]
    assert findings_open(["water_inside"], [seen("pass", None)]) == ["water_inside"]
    assert findings_open(["water_inside"], [seen("pass")]) == []
    assert findings_open(["water_inside"], [seen("pass"), seen("fail")]) == [
        "water_inside"
    ]
    assert findings_open([], [seen("fail")]) == ["water_inside"]
