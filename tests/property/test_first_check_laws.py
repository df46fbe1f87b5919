"""Laws of the first check that hold in every state of a case."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.advice.check_table import default_check_table
from analytics.advice.first_check import (
    expected_information,
    next_check,
    update_probabilities,
)
from ingest.catalogue import checks

CAUSES = ("handle_pilot_open", "contactor_welded", "pilot_sense_fault", "meter_fault")
WHOLE = default_check_table({})
KEPT = WHOLE[WHOLE["cause"].isin(CAUSES)]
REST = WHOLE[~WHOLE["check"].isin(KEPT["check"])].drop_duplicates("check")
TABLE = pd.concat([KEPT, REST.assign(cause="")], ignore_index=True)
LIVE = {check.code for check in checks().values() if check.hazard == "live"}
GATE = [check.code for check in checks().values() if check.gate]
OUTCOMES = ("pass", "pass", "pass", "fail", "undefined", "not_done", "incomplete")

weights = st.lists(st.floats(0.001, 1), min_size=4, max_size=4)
shares = weights.map(lambda w: {c: x / sum(w) for c, x in zip(CAUSES, w, strict=True)})
gate_states = st.fixed_dictionaries(
    {}, optional={code: st.sampled_from(OUTCOMES) for code in GATE}
)
all_pass = st.just(dict.fromkeys(GATE, "pass"))
others = st.dictionaries(
    st.sampled_from([c for c in checks() if c not in GATE]),
    st.sampled_from(OUTCOMES),
    max_size=8,
)
done_states = st.builds(lambda a, b: {**a, **b}, gate_states | all_pass, others)
FLAGS = [(safe, live) for safe in (True, False) for live in (True, False)]


@settings(max_examples=250, deadline=None)
@given(probabilities=shares, done=done_states)
def test_no_live_check_is_ever_listed_before_the_gate_is_open(probabilities, done):
    # Four states per example: a thousand states in all.
    for safe, energised in FLAGS:
        listed = next_check(
            probabilities, TABLE, done=done, proved_safe=safe, energised=energised
        )
        open_ = safe and all(done.get(code) == "pass" for code in GATE)
        live = {item.check for item in listed if item.hazard == "live"}
        assert bool(live) <= open_
        assert not ({item.check for item in listed} & LIVE) or open_


@settings(max_examples=150, deadline=None)
@given(probabilities=shares, done=done_states, energised=st.booleans())
def test_before_proved_dead_only_records_and_proved_dead_are_free(
    probabilities, done, energised
):
    listed = next_check(probabilities, TABLE, done=done, energised=energised)
    free = {item.check for item in listed if not item.blocked_by}
    assert free <= {"settings_and_log", "proved_dead"}
    assert "proved_dead" in free


@settings(max_examples=100, deadline=None)
@given(probabilities=shares, done=st.lists(st.sampled_from(list(checks()))))
def test_a_plain_list_opens_no_gate_and_offers_nothing_in_it_again(probabilities, done):
    for safe in (True, False):
        listed = next_check(probabilities, TABLE, done=done, proved_safe=safe)
        found = {item.check for item in listed}
        assert not found & LIVE
        assert not found & set(done)


@settings(max_examples=100, deadline=None)
@given(probabilities=shares, done=done_states)
def test_while_energised_every_check_that_is_not_live_waits_for_proved_dead(
    probabilities, done
):
    listed = next_check(
        probabilities, TABLE, done=done, proved_safe=True, energised=True
    )
    for item in listed:
        if item.hazard != "live" and item.check != "proved_dead":
            assert "proved_dead" in item.blocked_by


@settings(max_examples=100, deadline=None)
@given(probabilities=shares, done=done_states, safe=st.booleans())
def test_free_checks_stand_before_those_that_wait(probabilities, done, safe):
    listed = next_check(probabilities, TABLE, done=done, proved_safe=safe)
    waits = [bool(item.blocked_by) for item in listed]
    assert waits == sorted(waits)


@settings(max_examples=60, deadline=None)
@given(probabilities=shares, done=done_states, seed=st.integers(0, 2**16))
def test_the_order_of_the_rows_of_the_table_does_not_matter(probabilities, done, seed):
    shuffled = TABLE.sample(frac=1, random_state=seed)
    one = next_check(probabilities, TABLE, done=done, proved_safe=True)
    other = next_check(probabilities, shuffled, done=done, proved_safe=True)
    assert [item.check for item in one] == [item.check for item in other]


@settings(max_examples=60, deadline=None)
@given(probabilities=shares, factor=st.floats(0.01, 100))
def test_probabilities_count_only_against_each_other(probabilities, factor):
    scaled = {cause: share * factor for cause, share in probabilities.items()}
    one = next_check(probabilities, TABLE, proved_safe=True)
    other = next_check(scaled, TABLE, proved_safe=True)
    for a, b in zip(one, other, strict=True):
        assert a.confirm_probability == pytest.approx(b.confirm_probability)
        assert a.bits == pytest.approx(b.bits, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(probabilities=shares, done=others)
def test_updated_probabilities_sum_to_one_whatever_the_order(probabilities, done):
    after = update_probabilities(probabilities, TABLE, done)
    backwards = update_probabilities(
        probabilities, TABLE, dict(reversed(list(done.items())))
    )
    assert sum(after.values()) == pytest.approx(1)
    assert after == pytest.approx(backwards)
    assert list(after) == list(probabilities)


@settings(max_examples=100, deadline=None)
@given(probabilities=weights, p=st.lists(st.floats(0, 1), min_size=4, max_size=4))
def test_information_lies_between_nothing_and_the_entropy(probabilities, p):
    prior = [w / sum(probabilities) for w in probabilities]
    bits = expected_information(prior, [p, [1 - x for x in p]])
    assert 0 <= bits <= 1 + 1e-9


@settings(max_examples=60, deadline=None)
@given(probabilities=shares, chance=st.floats(0, 1))
def test_a_reading_near_its_limit_lies_between_pass_and_fail(probabilities, chance):
    def welded(outcome):
        outcomes = {"contactor_open": outcome}
        return update_probabilities(probabilities, TABLE, outcomes)["contactor_welded"]

    low, high = welded("pass"), welded("fail")
    assert low - 1e-12 <= welded(chance) <= high + 1e-12
