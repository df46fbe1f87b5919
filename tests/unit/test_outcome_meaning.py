"""What each outcome of a check would mean, and what the outcomes so far speak for."""

import math

import pytest

from analytics.advice.check_information import update_probabilities
from analytics.advice.check_table import default_check_table
from analytics.advice.outcome_meaning import outcomes_of
from analytics.advice.reading_reasons import reading_reasons

TABLE = default_check_table({"connector": "type_1"})
SHARES = {"contactor_welded": 0.3, "fuse_open": 0.5, "meter_fault": 0.2}


def test_chances_and_shares_after_are_those_of_the_table():
    fail, passed = outcomes_of("contactor_open", SHARES, TABLE)
    # P(fail): 0.9 under a welded contactor, 0.02 under the others.
    assert fail.probability == pytest.approx(0.3 * 0.9 + 0.7 * 0.02)
    assert passed.probability == pytest.approx(1 - fail.probability)
    lead = fail.moved[0]
    assert (lead.cause, lead.before) == ("contactor_welded", pytest.approx(0.3))
    assert lead.after == pytest.approx(0.27 / 0.284)
    assert passed.moved[0].cause == "fuse_open"
    mean = fail.probability * lead.after + passed.probability * next(
        item.after for item in passed.moved if item.cause == "contactor_welded"
    )
    assert mean == pytest.approx(0.3)


def test_a_fail_names_what_it_would_confirm_and_that_a_gate_check_keeps_mains_off():
    fail, passed = outcomes_of("contactor_open", SHARES, TABLE)
    assert fail.would_confirm == ("contactor_welded",)
    assert passed.would_confirm == ()
    assert "see what must be good beside it" in fail.words
    assert "No mains" in fail.words
    assert "No mains" not in passed.words


def test_an_outcome_that_cannot_be_is_left_out():
    sure = TABLE[TABLE["check"] == "fuse_continuity"].assign(p_fail=1.0)
    (only,) = outcomes_of("fuse_continuity", {"fuse_open": 1.0}, sure)
    assert only.outcome == "fail"


def test_a_cause_of_another_table_is_named_as_it_is():
    own = TABLE[TABLE["check"] == "fuse_continuity"].assign(cause="a")
    fail = outcomes_of("fuse_continuity", {"a": 0.5, "b": 0.5}, own)[0]
    assert fail.words.startswith("a would lead")


def test_a_check_that_is_not_in_the_table_is_refused():
    with pytest.raises(ValueError, match="no check of the table"):
        outcomes_of("colour", SHARES, TABLE)


@pytest.mark.parametrize(
    "outcomes",
    [
        {},
        {"contactor_open": "fail"},
        {"contactor_open": "pass", "fuse_continuity": "fail", "energy_reading": 0.4},
        {"contactor_open": "fail_not_isolated", "fuse_continuity": "not_done"},
        {"unknown_check": "fail", "fuse_continuity": 1.0},
    ],
)
def test_reasons_add_up_to_the_log_odds_after_the_checks(outcomes):
    after = update_probabilities(SHARES, TABLE, outcomes)
    for one, other in (("contactor_welded", "fuse_open"), ("meter_fault", "fuse_open")):
        reasons = reading_reasons(TABLE, outcomes, one, other)
        intake = math.log(SHARES[one] / SHARES[other])
        total = intake + sum(reason.log_odds for reason in reasons)
        assert total == pytest.approx(math.log(after[one] / after[other]), abs=1e-9)


def test_what_says_nothing_about_the_two_is_no_reason():
    reasons = reading_reasons(
        TABLE, {"latch_operation": "fail"}, "fuse_open", "meter_fault"
    )
    assert reasons == ()


def test_a_reason_reads_as_a_sentence_strongest_first():
    outcomes = {"fuse_continuity": 0.4, "contactor_open": "fail"}
    first, second = reading_reasons(TABLE, outcomes, "contactor_welded", "fuse_open")
    assert first.code == "contactor_open"
    assert first.sentence.startswith("failed contactor_open")
    assert second.state == "near its limit"
    (sure,) = reading_reasons(TABLE, {"contactor_open": 1.0}, *list(SHARES)[:2])
    assert sure.state == "failed"


def test_a_cause_ruled_out_by_the_table_is_infinitely_unlikely():
    table = TABLE[TABLE["check"] == "fuse_continuity"].assign(p_fail=1.0)
    (reason,) = reading_reasons(
        table, {"fuse_continuity": "pass"}, "fuse_open", "meter_fault"
    )
    assert reason.log_odds == -math.inf
