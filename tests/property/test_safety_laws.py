"""Laws of safety and of odds, from what is known of a case to what is offered next.

What must hold is written out here once more, in the plainest form: mains needs a pass
of every gate check with no fail last, the unit proved dead with no failed reading
since, and no dangerous finding that nobody has seen to. What speaks for a cause never
lowers its odds against one that it is not linked to. SAFETY_EXAMPLES in the environment
says how many cases each law is tried on.
"""

import os
from collections import Counter

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.advice.bench_state import bench_state
from analytics.advice.check_table import check_hazard, default_check_table
from analytics.advice.expert_prior import NO_LINK
from analytics.advice.expert_table import default_expert_table
from analytics.advice.first_check import next_check, update_probabilities
from analytics.advice.gate import JudgedReading, check_outcomes, needed_points
from analytics.advice.suggest import FaultSuggester
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
seen: Counter[str] = Counter()


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
    # A unit fresh on the bench has not been proved dead at all.
    first = [proof] if draw(st.sampled_from((True, True, True, False))) else []
    after = draw(st.lists(readings_of(GATE) | readings_of(list(checks())), max_size=4))
    if draw(st.booleans()):
        after.append(proof)
    findings = draw(st.sampled_from(((), (), ("clean",), *zip(DANGEROUS))))
    return number, [*before, *first, *whole, *after], findings


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

    seen["with mains" if live else "without mains"] += 1
    seen["proved dead" if is_proved(readings) else "not proved dead"] += 1
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


def test_cases_of_every_kind_came_up_in_earnest():
    # The law above would be empty if the gate never opened, or if it were never shut.
    for kind in ("with mains", "without mains", "proved dead", "not proved dead"):
        assert seen[kind] > N_EXAMPLES / 20, seen


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
def test_a_fail_at_a_linked_check_never_lowers_its_cause(whole, data):
    table, links, causes = whole
    code, cause = data.draw(st.sampled_from(sorted(links)))
    other = data.draw(st.sampled_from([m for m in causes if (code, m) not in links]))
    some = dict(zip((cause, other), data.draw(weights)[:2], strict=True))
    before = data.draw(
        st.dictionaries(
            st.sampled_from([c for c in checks() if c != code]),
            st.sampled_from(("pass", "fail", "fail_not_isolated", "undefined")),
            max_size=3,
        )
    )

    then = update_probabilities(some, table, before)
    failed = update_probabilities(some, table, before | {code: "fail"})
    passed = update_probabilities(some, table, before | {code: "pass"})

    odds = then[cause] / then[other]
    assert failed[cause] / failed[other] >= odds * (1 - 1e-12)
    assert passed[cause] / passed[other] <= odds * (1 + 1e-12)


# What is linked to a cause, by the column of the intake it stands in.
COLUMNS = {
    "symptom": "symptoms",
    "finding": "intake_findings",
    "error_word": "charger_error_codes",
}


@pytest.fixture(scope="module")
def at_intake():
    """Return a suggester that knows the expert table alone, and the table by link."""
    table = default_expert_table()
    suggester = FaultSuggester.fit(
        pd.DataFrame(), [], expert_table=table, rng=np.random.default_rng(1)
    )
    touched = table[table["probability"] > NO_LINK]
    links = set(touched[["kind", "code", "cause"]].itertuples(index=False, name=None))
    return suggester, links, sorted(set(table["cause"]))


@many
@given(data=st.data())
def test_evidence_for_a_cause_never_lowers_it_at_intake(at_intake, data):
    suggester, links, causes = at_intake
    kind, code, cause = data.draw(st.sampled_from(sorted(links)))
    other = data.draw(
        st.sampled_from([m for m in causes if (kind, code, m) not in links])
    )
    case = {}
    for name, column in (*COLUMNS.items(), ("symptom", "symptoms_denied")):
        known = sorted({c for k, c, _ in links if k == name})
        case[column] = data.draw(st.lists(st.sampled_from(known), max_size=3))
    # The first finding also says that someone looked and did not see the rest.
    case["intake_findings"] = case["intake_findings"] or ["clean"]
    case["opened_before_arrival"] = data.draw(st.sampled_from(("yes", "no", None)))
    more = case | {COLUMNS[kind]: [*case[COLUMNS[kind]], code]}

    before, after = suggester.probabilities(pd.DataFrame([case, more])).to_numpy()

    m, n = suggester.causes.index(cause), suggester.causes.index(other)
    assert after[m] / after[n] >= before[m] / before[n] * (1 - 1e-9)
