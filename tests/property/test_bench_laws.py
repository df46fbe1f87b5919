"""Laws of the bench that hold whatever was found and in whatever order it was read."""

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.advice.bench_state import SHUTS_THE_GATE, bench_state
from analytics.advice.check_table import default_check_table
from analytics.advice.first_check import next_check, update_probabilities
from analytics.advice.gate import JudgedReading, needed_points
from ingest.catalogue import check_modes, checks, codes

TYPE_1 = {"connector": "type_1", "supply_system": "240"}
TABLE = default_check_table(TYPE_1)
FEW = pd.concat(
    [TABLE[TABLE["cause"] == "contactor_welded"], TABLE.drop_duplicates("check")]
).drop_duplicates("check")
LIVE = {check.code for check in checks().values() if check.hazard == "live"}
GATE = [check.code for check in checks().values() if check.gate]
OUTCOMES = ("pass", "pass", "pass", "fail", "undefined", "not_done")

findings = st.lists(st.sampled_from(list(codes("findings"))), max_size=3)
stages = st.sampled_from(
    ["intake", "diagnosis", "diagnosis", "after_repair", "on_site"]
)
loose = st.builds(
    JudgedReading,
    st.sampled_from([*GATE, "pilot_continuity", "control_supply_voltage"]),
    st.sampled_from(OUTCOMES),
    stages,
    point=st.sampled_from([None, "L1", "L2", "handle", "metal", *SHUTS_THE_GATE]),
    has_value=st.booleans(),
)
gate_passed = st.just(
    [JudgedReading(code, "pass", "diagnosis", has_value=False) for code in GATE]
)
readings = st.builds(
    lambda before, gate, after: [*before, *gate, *after],
    st.lists(loose, max_size=4),
    gate_passed | st.just([]),
    st.lists(loose, max_size=4),
)


@settings(max_examples=400, deadline=None)
@given(read=readings, found=findings, repaired=st.booleans())
def test_no_live_check_is_offered_on_a_unit_that_has_not_passed_the_gate(
    read, found, repaired
):
    state = bench_state(read, TYPE_1, findings=found, repaired=repaired)
    listed = next_check(
        {"contactor_welded": 1.0},
        FEW,
        done=state.outcomes,
        proved_safe=state.proved_safe,
        energised=state.energised,
        isolations=state.isolations,
    )
    offered = {item.check for item in listed}
    assert not (offered & LIVE) or state.gate_is_open
    assert state.gate_is_open == (not state.gate and not state.not_safe)
    free = {item.check for item in listed if not item.blocked_by}
    assert state.proved_safe or free <= {"proved_dead", "settings_and_log"}
    # Told apart from the code: the last word on each check and on each finding.
    last = {}
    for reading in read:
        if reading.stage == "after_repair" or not repaired:
            last[reading.check, reading.point] = reading.outcome
    if state.gate_is_open:
        assert "fail" not in {last.get((code, None)) for code in GATE}
        dangerous = set(found) & set(SHUTS_THE_GATE)
        named = {r.point for r in read if r.outcome == "pass"}
        whole = any(
            r.check == "visual_inspection"
            and r.stage == "after_repair"
            and r.outcome == "pass"
            for r in read
        )
        assert dangerous <= named or whole


@settings(max_examples=300, deadline=None)
@given(
    check=st.sampled_from(GATE),
    before=st.lists(st.sampled_from(OUTCOMES), max_size=4),
    last=st.sampled_from(OUTCOMES),
)
def test_the_last_reading_of_each_point_decides(check, before, last):
    points = needed_points(check, TYPE_1) or (None,)
    for point in points:
        others = [
            JudgedReading(check, "pass", "diagnosis", name, has_value=True)
            for name in points
            if name != point
        ]
        own = [
            JudgedReading(check, outcome, "diagnosis", point, has_value=True)
            for outcome in [*before, last]
        ]
        state = bench_state([*others, *own], TYPE_1)
        assert (state.outcomes[check] == "pass") == (last == "pass")
        assert (check in {reason.check for reason in state.gate}) == (last != "pass")


LINKS = sorted((link.check, link.mode) for link in check_modes() if link.confirms)


@settings(max_examples=300, deadline=None)
@given(link=st.sampled_from(LINKS), data=st.data())
def test_a_fail_at_its_confirming_check_never_lowers_a_cause_against_one_untouched(
    link, data
):
    check, mode = link
    whole = default_check_table({})
    touched = set(whole.loc[whole["check"] == check, "cause"])
    others = sorted(set(whole["cause"]) - touched - {""})
    other = data.draw(st.sampled_from(others))
    done = data.draw(
        st.dictionaries(
            st.sampled_from(sorted(set(checks()) - {check})),
            st.sampled_from(("pass", "fail")),
            max_size=3,
        )
    )
    prior = {
        mode: data.draw(st.floats(0.001, 1)),
        other: data.draw(st.floats(0.001, 1)),
    }
    without = update_probabilities(prior, whole, done)
    with_ = update_probabilities(prior, whole, done | {check: "fail"})
    assert with_[mode] * without[other] >= without[mode] * with_[other]
    passed = update_probabilities(prior, whole, done | {check: "pass"})
    assert passed[mode] * without[other] <= without[mode] * passed[other]
