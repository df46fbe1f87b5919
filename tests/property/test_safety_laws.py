"""Laws of safety, from the readings of a case to the checks that are offered next.

What must hold is written out here once more, in the plainest form: mains needs a pass
of every gate check with no fail last, the unit proved dead with no failed reading
since, and no dangerous finding that nobody has seen to. SAFETY_EXAMPLES in the
environment says how many cases each law is tried on.
"""

import os
from collections import Counter

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.advice.bench_state import bench_state
from analytics.advice.check_table import check_hazard, default_check_table
from analytics.advice.first_check import next_check, update_probabilities
from analytics.advice.gate import JudgedReading, check_outcomes, needed_points
from ingest.catalogue import checks

N_EXAMPLES = int(os.environ.get("SAFETY_EXAMPLES", "120"))
CONTEXTS = (
    {"connector": "type_1", "supply_system": "240", "coil_v": 12.0},
    {"connector": "type_2", "phases": 3, "ground_fault_device": "rcd_a_30;rdc_dd_6"},
    {},
)
# A few causes keep the table small; every check stays in it.
CAUSES = ("handle_pilot_open", "contactor_welded", "pilot_sense_fault", "meter_fault")
GATE = [check.code for check in checks().values() if check.gate]
RECORDS, PROVED = "settings_and_log", "proved_dead"
OUTCOMES = ("pass", "pass", "pass", "pass", "fail", "undefined", "not_done")
DANGEROUS = ("water_inside", "conductor_on_wrong_terminal", "cable_damaged")
STAGES = ("diagnosis", "diagnosis", "diagnosis", "intake", "after_repair", "on_site")

many = settings(max_examples=N_EXAMPLES, deadline=None)
seen: Counter[bool] = Counter()


def table_of(context):
    table = default_check_table(context)
    kept = table[table["cause"].isin(CAUSES)]
    rest = table[~table["check"].isin(kept["check"])].drop_duplicates("check")
    return pd.concat([kept, rest.assign(cause="")], ignore_index=True)


@pytest.fixture(scope="module")
def tables():
    return [table_of(context) for context in CONTEXTS]


def readings_of(codes, stages=STAGES):
    return st.builds(
        JudgedReading,
        check=st.sampled_from(codes),
        outcome=st.sampled_from(OUTCOMES),
        stage=st.sampled_from(stages),
        point=st.sampled_from((None, None, "L1", "handle", "metal", "CP")),
        has_value=st.booleans(),
    )


@st.composite
def cases(draw):
    """Return a unit and its readings: the gate passed, as a rule, and then anything."""
    number = draw(st.integers(0, len(CONTEXTS) - 1))
    stage = draw(st.sampled_from(("diagnosis", "after_repair", "on_site")))
    order = draw(st.permutations([code for code in GATE if code != PROVED]))
    # What was seen on site proves nothing here, even where the unit is proved dead.
    proof = JudgedReading(
        PROVED, "pass", stage.replace("on_site", "diagnosis"), has_value=False
    )
    whole = [
        JudgedReading(code, "pass", stage, has_value=False)
        for code in order[: draw(st.sampled_from((99, 99, 99, 3)))]
    ]
    before = draw(st.lists(readings_of(list(checks())), max_size=4))
    after = draw(st.lists(readings_of(GATE) | readings_of(list(checks())), max_size=4))
    if draw(st.booleans()):
        after.append(proof)
    findings = draw(st.sampled_from(((), (), ("clean",), *zip(DANGEROUS))))
    return number, [*before, proof, *whole, *after], findings


weights = st.lists(st.floats(0.001, 1), min_size=4, max_size=4)


def speaks(reading, *, is_repaired):
    if reading.outcome == "fail":
        return True
    if is_repaired:
        return reading.stage == "after_repair"
    return reading.stage != "on_site"


def may_be_live(readings, findings):
    """Tell whether mains may be applied at all, as far as the plain rules say."""
    is_repaired = any(reading.stage == "after_repair" for reading in readings)
    for code in GATE:
        own = [reading for reading in readings if reading.check == code]
        own = [one for one in own if speaks(one, is_repaired=is_repaired)]
        passes = [one for one in own if one.outcome == "pass"]
        if not passes or own[-1].outcome == "fail":
            return False
    # The inspection after a repair is a whole one, and speaks of what was found.
    is_seen_to = any(
        reading.check == "visual_inspection"
        and (reading.stage, reading.outcome) == ("after_repair", "pass")
        for reading in readings
    )
    is_shut = set(findings) & set(DANGEROUS) and not is_seen_to
    return is_proved(readings) and not is_shut


def is_proved(readings):
    proved = False
    for reading in readings:
        if reading.check == PROVED:
            proved = reading.outcome == "pass" and reading.stage != "on_site"
        elif reading.outcome == "fail":
            proved = False
    return proved


def offered(tables, case, shares):
    number, readings, findings = case
    state = bench_state(readings, CONTEXTS[number], findings=findings)
    return state, next_check(
        dict(zip(CAUSES, shares, strict=True)),
        tables[number],
        done=state.outcomes,
        proved_safe=state.proved_safe,
        energised=state.energised,
    )


@many
@given(case=cases(), shares=weights)
def test_nothing_unsafe_is_ever_offered(tables, case, shares):
    number, readings, findings = case
    state, listed = offered(tables, case, shares)
    live = [item.check for item in listed if item.hazard == "live"]
    free = {item.check for item in listed if not item.blocked_by}

    seen[bool(live)] += 1
    hazard = {item.check: check_hazard(item.check, CONTEXTS[number]) for item in listed}
    assert all(hazard[item.check] == item.hazard for item in listed)
    if not may_be_live(readings, findings):
        assert not live
    assert bool(live) <= state.gate_is_open
    if not is_proved(readings):
        assert free <= {RECORDS, PROVED}
    if state.energised:
        assert all(
            hazard[code] == "live" or code == PROVED for code in free - {RECORDS}
        )


def test_cases_with_mains_and_without_came_up_in_earnest():
    # The law above would be empty if the gate never opened.
    assert seen[True] > N_EXAMPLES / 20
    assert seen[False] > N_EXAMPLES / 20


GATE_WITH_POINTS = [code for code in GATE if needed_points(code, CONTEXTS[0])]


@many
@given(data=st.data())
def test_the_last_reading_of_each_point_decides(data):
    context = CONTEXTS[data.draw(st.integers(0, 1))]
    code = data.draw(st.sampled_from(GATE_WITH_POINTS))
    points = [name.split(" or ")[0] for name in needed_points(code, context)]
    words = st.sampled_from(OUTCOMES)
    named = st.builds(
        lambda point, outcome: JudgedReading(code, outcome, "diagnosis", point),
        st.sampled_from(points),
        words,
    )
    for_all = st.builds(
        lambda outcome: JudgedReading(code, outcome, "diagnosis", has_value=False),
        words,
    )
    history = data.draw(st.lists(named | for_all, max_size=6))
    last = {point: data.draw(words) for point in data.draw(st.permutations(points))}
    final = [JudgedReading(code, last[point], "diagnosis", point) for point in last]

    found = check_outcomes([*history, *final], context)[code]

    said = set(last.values())
    worst = next(w for w in ("fail", "not_done", "undefined", "pass") if w in said)
    assert found == worst


@pytest.fixture(scope="module")
def whole():
    table = default_check_table({})
    links = {
        (row.check, row.cause): (row.p_fail, row.confirms)
        for row in table.itertuples()
        if row.cause
    }
    return table, links, sorted({cause for _, cause in links})


@many
@given(data=st.data())
def test_a_fail_at_a_confirming_check_never_lowers_its_cause(whole, data):
    table, links, causes = whole
    code, cause = data.draw(
        st.sampled_from(sorted(key for key, (_, is_sure) in links.items() if is_sure))
    )
    other = data.draw(st.sampled_from([m for m in causes if (code, m) not in links]))
    some = dict(zip((cause, other), data.draw(weights)[:2], strict=True))
    before = data.draw(
        st.dictionaries(
            st.sampled_from([c for c in checks() if c != code]),
            st.sampled_from(("pass", "fail", "undefined")),
            max_size=3,
        )
    )

    then = update_probabilities(some, table, before)
    failed = update_probabilities(some, table, before | {code: "fail"})
    passed = update_probabilities(some, table, before | {code: "pass"})

    odds = then[cause] / then[other]
    assert failed[cause] / failed[other] >= odds * (1 - 1e-12)
    assert passed[cause] / passed[other] <= odds * (1 + 1e-12)
