"""Which check next, and what its outcome says."""

import math

import pandas as pd
import pytest

from analytics.advice.checks_at_hand import checks_at_hand
from analytics.advice.first_check import next_check

COLUMNS = ["check", "cause", "p_fail", "confirms", "minutes", "hazard", "gate", "needs"]


def table(*rows):
    return pd.DataFrame(rows, columns=COLUMNS)


# Two causes; a dead check for each, a live one, and a gate of two.
SMALL = table(
    ("proved_dead", "", 0.0, False, 3, "dead", True, ""),
    ("settings_and_log", "a", 0.2, False, 5, "dead", False, ""),
    ("gate_look", "a", 0.3, False, 6, "dead", True, ""),
    ("find_a", "a", 0.9, True, 5, "dead", False, ""),
    ("find_b", "b", 0.8, True, 4, "dead", False, "find_a"),
    ("live_b", "b", 0.9, True, 1, "live", False, ""),
    ("live_b", "a", 0.1, False, 1, "live", False, ""),
)


def names(listed):
    return [item.check for item in listed]


def by_name(listed):
    return {item.check: item for item in listed}


def test_checks_are_ranked_by_the_chance_to_confirm_per_minute():
    listed = by_name(next_check({"a": 0.4, "b": 0.6}, SMALL, proved_safe=True))
    assert listed["find_a"].confirm_probability == pytest.approx(0.4 * 0.9)
    assert listed["find_a"].confirm_per_minute == pytest.approx(0.36 / 5)
    assert listed["find_b"].confirm_per_minute == pytest.approx(0.48 / 4)
    assert listed["gate_look"].confirm_probability == 0.0


def test_bits_count_a_confirming_fail_as_settled():
    # find_a: fail with 0.9 under a (settles it) and 0.02 under b.
    found = by_name(next_check({"a": 0.5, "b": 0.5}, SMALL, proved_safe=True))
    passed, p_pass = [0.05, 0.49], 0.54
    left = -sum(x / p_pass * math.log2(x / p_pass) for x in passed)
    assert found["find_a"].bits == pytest.approx(1 - p_pass * left)
    assert found["find_a"].bits_per_minute == pytest.approx(found["find_a"].bits / 5)


def test_proved_dead_comes_first_and_its_minutes_count_before_every_other():
    listed = next_check({"a": 0.9, "b": 0.1}, SMALL)
    assert listed[0].check == "proved_dead"
    assert listed[1].check == "settings_and_log"
    found = by_name(listed)
    assert found["find_a"].blocked_by == ("proved_dead",)
    assert found["find_a"].minutes_before == 3
    assert found["find_a"].confirm_per_minute == pytest.approx(0.81 / 8)
    assert found["find_b"].blocked_by == ("proved_dead", "find_a")
    assert "live_b" not in found


def test_records_come_before_proved_dead_where_they_are_the_best():
    records = table(
        ("proved_dead", "", 0.0, False, 3, "dead", True, ""),
        ("settings_and_log", "a", 0.9, True, 5, "dead", False, ""),
        ("find_b", "b", 0.9, True, 5, "dead", False, ""),
    )
    assert names(next_check({"a": 0.9, "b": 0.1}, records))[0] == "settings_and_log"
    assert names(next_check({"a": 0.1, "b": 0.9}, records))[0] == "proved_dead"


def test_a_check_that_needs_another_waits_behind_the_free_ones():
    listed = next_check({"a": 0.01, "b": 0.99}, SMALL, proved_safe=True)
    assert by_name(listed)["find_b"].blocked_by == ("find_a",)
    assert names(listed)[-1] == "find_b"
    done = {"find_a": "pass"}
    again = next_check({"a": 0.01, "b": 0.99}, SMALL, done=done, proved_safe=True)
    assert by_name(again)["find_b"].blocked_by == ()


def test_a_check_another_one_needs_leads_when_that_one_is_the_best():
    listed = next_check({"a": 0.01, "b": 0.99}, SMALL, proved_safe=True)
    assert (listed[0].check, listed[0].opens) == ("find_a", "find_b")


def test_a_check_that_waits_for_a_failed_one_leads_nowhere():
    done = {"find_a": "fail", "proved_dead": "pass"}
    listed = next_check({"a": 0.01, "b": 0.99}, SMALL, done=done, proved_safe=True)
    assert (listed[0].check, listed[0].opens) == ("gate_look", "live_b")
    assert by_name(listed)["find_b"].blocked_by == ("find_a",)


def test_when_the_best_is_live_the_gate_check_leads_and_says_what_it_opens():
    quick = table(
        ("proved_dead", "", 0.0, False, 3, "dead", True, ""),
        ("gate_look", "", 0.0, False, 2, "dead", True, ""),
        ("find_a", "a", 0.9, True, 30, "dead", False, ""),
        ("live_b", "b", 0.9, True, 1, "live", False, ""),
    )
    chances = {"a": 0.3, "b": 0.7}
    first = next_check(chances, quick)[0]
    assert (first.check, first.opens) == ("proved_dead", "live_b")
    done = {"proved_dead": "pass"}
    then = next_check(chances, quick, done=done, proved_safe=True)
    assert (then[0].check, then[0].opens) == ("gate_look", "live_b")
    assert then[1].opens is None
    done["gate_look"] = "pass"
    last = next_check(chances, quick, done=done, proved_safe=True)[0]
    assert (last.check, last.hazard, last.minutes_before) == ("live_b", "live", 10)


def test_a_failed_gate_check_shuts_the_gate_and_no_longer_leads():
    done = {"proved_dead": "pass", "gate_look": "fail"}
    listed = next_check({"a": 0.1, "b": 0.9}, SMALL, done=done, proved_safe=True)
    assert "live_b" not in names(listed)
    assert all(item.opens != "live_b" for item in listed)
    assert "gate_look" not in names(listed)


@pytest.mark.parametrize("outcome", ["undefined", "not_done", "incomplete"])
def test_a_gate_check_without_a_result_is_offered_again(outcome):
    done = {"proved_dead": "pass", "gate_look": outcome}
    listed = names(next_check({"a": 0.5, "b": 0.5}, SMALL, done=done, proved_safe=True))
    assert "gate_look" in listed
    assert "live_b" not in listed


@pytest.mark.parametrize(
    ("outcome", "offered"),
    [("pass", False), ("fail", False), ("not_done", False), ("incomplete", True)],
)
def test_another_check_is_offered_again_only_while_points_are_missing(outcome, offered):
    done = {"find_a": outcome}
    listed = names(next_check({"a": 0.5, "b": 0.5}, SMALL, done=done, proved_safe=True))
    assert ("find_a" in listed) == offered


def test_the_set_up_counts_for_the_first_live_check_only():
    gate = {"proved_dead": "pass", "gate_look": "pass"}
    chances = {"a": 0.5, "b": 0.5}
    first = by_name(next_check(chances, SMALL, done=gate, proved_safe=True))
    assert first["live_b"].confirm_per_minute == pytest.approx(0.45 / 11)
    more = table(*SMALL.itertuples(index=False), ("live_c", "b", 0.5, True, 2, "live", False, ""))  # noqa: E501 # fmt: skip
    done = {**gate, "live_b": "pass"}
    then = by_name(next_check(chances, more, done=done, proved_safe=True))
    assert then["live_c"].minutes_before == 0


def test_an_energised_unit_goes_on_live_and_everything_else_waits():
    gate = {"proved_dead": "pass", "gate_look": "pass"}
    listed = next_check(
        {"a": 0.1, "b": 0.9}, SMALL, done=gate, proved_safe=True, energised=True
    )
    found = by_name(listed)
    assert listed[0].check == "live_b"
    assert found["proved_dead"].blocked_by == ()
    assert found["settings_and_log"].blocked_by == ("proved_dead",)
    assert found["find_a"].blocked_by == ("proved_dead",)


def test_an_energised_unit_whose_best_check_is_dead_is_proved_dead_first():
    gate = {"proved_dead": "pass", "gate_look": "pass"}
    dead_first = next_check(
        {"a": 1.0, "b": 0.0}, SMALL, done=gate, proved_safe=True, energised=True
    )
    assert dead_first[0].check == "proved_dead"


def test_an_outcome_against_the_technicians_word_wins():
    done = {"proved_dead": "fail", "gate_look": "pass"}
    listed = next_check({"a": 0.5, "b": 0.5}, SMALL, done=done, proved_safe=True)
    assert by_name(listed)["find_a"].blocked_by == ("proved_dead",)
    assert "live_b" not in names(listed)


def test_proved_safe_alone_without_its_record_opens_no_gate():
    done = {"gate_look": "pass", "find_a": "pass", "find_b": "pass"}
    listed = next_check({"a": 0.1, "b": 0.9}, SMALL, done=done, proved_safe=True)
    assert "live_b" not in names(listed)
    assert (listed[0].check, listed[0].opens) == ("proved_dead", "live_b")


def test_a_table_with_live_checks_and_no_gate_row_offers_none_of_them():
    no_gate = table(
        ("find_a", "a", 0.9, True, 5, "dead", False, ""),
        ("live_b", "b", 0.9, True, 1, "live", False, ""),
    )
    listed = next_check({"a": 0.1, "b": 0.9}, no_gate, proved_safe=True)
    assert names(listed) == ["find_a"]
    only_live = no_gate[no_gate["hazard"] == "live"]
    assert next_check({"b": 1.0}, only_live, proved_safe=True) == []


def test_a_table_without_needs_and_with_blanks_is_read():
    blank = SMALL.drop(columns="needs").assign(
        cause=SMALL["cause"].replace("", None), gate=SMALL["gate"].astype(int)
    )
    listed = next_check({"a": 0.5, "b": 0.5}, blank, proved_safe=True)
    assert by_name(listed)["find_b"].blocked_by == ()
    assert "live_b" not in names(listed)


def test_a_table_read_once_ranks_the_same_and_cannot_be_changed():
    read = checks_at_hand(SMALL)
    chances = {"a": 0.3, "b": 0.7}
    assert checks_at_hand(read) is read
    assert next_check(chances, read) == next_check(chances, SMALL)
    with pytest.raises(TypeError, match="does not support item assignment"):
        read["find_a"].links["a"] = (1.0, True)


def test_rows_of_one_check_that_disagree_are_read_the_strict_way():
    mixed = table(
        ("gate_look", "a", 0.5, False, 6, "dead", False, ""),
        ("gate_look", "b", 0.5, False, 8, "dead", True, "find_a"),
        ("find_a", "a", 0.9, True, 5, "dead", False, ""),
        ("odd", "a", 0.9, True, 5, "dead", False, ""),
        ("odd", "b", 0.9, True, 5, "live", False, ""),
    )
    found = by_name(next_check({"a": 1.0}, mixed, proved_safe=True))
    assert "odd" not in found
    assert found["gate_look"].minutes == 8
    assert found["gate_look"].blocked_by == ("find_a",)


def test_equal_checks_are_told_apart_by_bits_then_by_code():
    alike = table(
        ("z", "a", 0.9, True, 5, "dead", False, ""),
        ("y", "a", 0.9, True, 5, "dead", False, ""),
        ("x", "b", 0.2, False, 5, "dead", False, ""),
        ("w", "b", 0.6, False, 5, "dead", False, ""),
    )
    listed = names(next_check({"a": 0.5, "b": 0.5}, alike, proved_safe=True))
    assert listed == ["y", "z", "w", "x"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"hazard": "hot"}, "find_a: hazard must be one of dead"),
        ({"minutes": 0}, "find_a: minutes must be above 0"),
        ({"p_fail": 1.2}, r"find_a, a: 1\.2 is no chance to fail"),
    ],
)
def test_an_impossible_table_is_refused(change, sentence):
    row = dict(
        zip(COLUMNS, ("find_a", "a", 0.9, True, 5, "dead", False, ""), strict=True)
    )
    with pytest.raises(ValueError, match=sentence):
        next_check({"a": 1.0}, pd.DataFrame([{**row, **change}]))


def test_a_table_that_lacks_a_column_is_refused_by_name():
    with pytest.raises(ValueError, match="lacks the column minutes"):
        next_check({"a": 1.0}, SMALL.drop(columns="minutes"))


@pytest.mark.parametrize("chances", [{}, {"a": 0.0}, {"a": -1.0}, {"a": math.nan}])
def test_what_are_no_probabilities_is_refused(chances):
    with pytest.raises(ValueError, match="at least must be above 0"):
        next_check(chances, SMALL)
