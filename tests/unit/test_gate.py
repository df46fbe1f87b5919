"""From readings to check outcomes, and the gate before mains."""

import pytest

from analytics.advice.gate import (
    CheckState,
    JudgedReading,
    check_outcomes,
    check_states,
    gate_is_open,
    needed_points,
)
from ingest.catalogue import checks

TYPE_1 = {"connector": "type_1", "supply_system": "240"}
THREE = {"connector": "type_2", "phases": 3}
GATE = tuple(check.code for check in checks().values() if check.gate)


def read(check, outcome, point=None, **rest):
    return JudgedReading(check, outcome, rest.pop("stage", "diagnosis"), point, **rest)


def state(*readings, context=TYPE_1, **rest):
    found = check_states(readings, context, **rest)
    assert len(found) == 1
    return next(iter(found.values()))


@pytest.mark.parametrize(
    ("context", "points"),
    [
        ({"connector": "type_1", "supply_system": "240"}, ("L1", "L2")),
        ({"connector": "type_1", "supply_system": "120"}, ("L1", "N")),
        ({"connector": "type_1"}, ("L1", "L2 or N")),
        ({"connector": "type_2", "phases": 1}, ("L1", "N")),
        ({"connector": "type_2", "phases": 3}, ("L1", "L2", "L3", "N")),
        ({"connector": "type_2"}, ("L1", "L2", "L3", "N")),
        ({}, ("L1", "L2", "L3", "N")),
    ],
)
def test_conductors_follow_connector_phases_and_supply(context, points):
    assert needed_points("contactor_open", context) == points


def test_earth_and_insulation_have_their_own_points_and_others_need_one():
    assert needed_points("earth_continuity", {}) == ("handle", "metal")
    assert needed_points("insulation_resistance", {}) == (
        "supply-PE",
        "handle-PE",
        "handle-handle",
    )
    assert needed_points("fuse_continuity", {}) == ()


def test_points_of_a_check_that_does_not_exist_are_refused():
    with pytest.raises(ValueError, match="no check is called 'colour'"):
        needed_points("colour", {})


def test_a_check_has_not_passed_while_a_point_is_missing():
    found = state(read("contactor_open", "pass", "L1"))
    assert found == CheckState("incomplete", ("L2",))


def test_a_check_has_passed_when_every_point_has():
    readings = [read("contactor_open", "pass", p) for p in ("L1", "L2", "L3", "N")]
    assert state(*readings, context=THREE) == CheckState("pass", ())


def test_either_conductor_will_do_where_either_may_be_there():
    readings = [read("contactor_open", "pass", p) for p in ("L1", "n")]
    assert state(*readings, context={"connector": "type_1"}).outcome == "pass"


def test_a_pair_of_points_has_no_order_and_no_case():
    readings = [
        read("insulation_resistance", "pass", p)
        for p in ("PE-supply", "Handle-PE", "handle-handle")
    ]
    assert state(*readings).outcome == "pass"


def test_the_last_reading_of_a_point_counts():
    first, then = (
        read("contactor_open", "fail", "L1"),
        read("contactor_open", "pass", "L1"),
    )
    other = read("contactor_open", "pass", "L2")
    assert state(first, then, other).outcome == "pass"
    assert state(then, first, other).outcome == "fail"


def test_order_in_time_counts_and_not_order_in_the_list():
    late = read("fuse_continuity", "pass", order=2)
    early = read("fuse_continuity", "fail", order=1)
    assert state(late, early).outcome == "pass"


def test_a_pass_at_rest_does_not_undo_a_fail_in_motion():
    moving = read("pilot_continuity", "fail", condition="flexed")
    at_rest = read("pilot_continuity", "pass", condition="still")
    assert state(moving, at_rest).outcome == "fail"


def test_a_value_without_a_point_counts_for_one_point_only():
    unnamed = read("contactor_open", "pass")
    assert state(unnamed) == CheckState("incomplete", ("L2",))
    assert state(unnamed, unnamed) == CheckState("incomplete", ("L2",))
    assert state(read("contactor_open", "pass", "L1"), unnamed).outcome == "pass"
    assert state(read("fuse_continuity", "pass")).outcome == "pass"


def test_an_outcome_without_a_point_speaks_for_all():
    word = read("contactor_open", "pass", has_value=False)
    assert state(word) == CheckState("pass", ())
    assert state(read("contactor_open", "fail", "L1"), word).outcome == "pass"
    assert state(word, read("contactor_open", "fail", "L1")).outcome == "fail"


def test_a_word_for_all_is_superseded_once_every_point_was_read_by_name():
    word = read("contactor_open", "fail", has_value=False)
    one, two = (read("contactor_open", "pass", p) for p in ("L1", "L2"))
    assert state(word, one).outcome == "fail"
    assert state(word, one, two).outcome == "pass"


def test_a_check_marked_not_done_passes_when_it_is_done_later():
    word = read("supply_wiring", "not_done", has_value=False)
    assert state(word).outcome == "not_done"
    assert state(word, read("supply_wiring", "pass")).outcome == "pass"
    assert state(word, read("supply_wiring", "pass", "plug")).outcome == "pass"


def test_a_later_value_without_a_point_leaves_the_word_for_all_its_say():
    word = read("contactor_open", "pass", has_value=False)
    assert state(word, read("contactor_open", "pass")).outcome == "pass"
    assert state(word, read("contactor_open", "fail")).outcome == "fail"


def test_a_point_nobody_asked_for_can_still_fail_the_check():
    readings = [read("contactor_open", o, p) for o, p in
                (("pass", "L1"), ("pass", "L2"), ("fail", "N"))]  # fmt: skip
    assert state(*readings).outcome == "fail"


@pytest.mark.parametrize("outcome", ["undefined", "not_done"])
def test_what_is_neither_pass_nor_fail_opens_nothing(outcome):
    readings = [
        read("contactor_open", "pass", "L1"),
        read("contactor_open", outcome, "L2"),
    ]
    assert state(*readings).outcome == outcome


def test_an_outcome_of_an_unknown_kind_is_no_pass():
    assert state(read("supply_wiring", "rejected")).outcome == "not_done"


def test_a_pass_on_site_never_counts_for_a_gate_check_and_a_fail_does():
    on_site = read("supply_wiring", "pass", stage="on_site", has_value=False)
    assert check_outcomes([on_site], TYPE_1) == {}
    bad = read("supply_wiring", "fail", stage="on_site", has_value=False)
    assert check_outcomes([bad], TYPE_1) == {"supply_wiring": "fail"}


def test_supply_on_site_speaks_before_the_supply_of_the_bench():
    site = read("supply_voltage", "fail", "L1-N", stage="on_site")
    bench = read("supply_voltage", "pass", "L1-N")
    assert check_outcomes([site, bench], TYPE_1) == {"supply_voltage": "fail"}


def test_for_other_checks_the_bench_speaks_before_the_site():
    site = read("pilot_continuity", "fail", stage="on_site")
    assert check_outcomes([site], {}) == {"pilot_continuity": "fail"}
    bench = read("pilot_continuity", "pass", stage="intake")
    assert check_outcomes([site, bench], {}) == {"pilot_continuity": "pass"}


def all_passed(stage):
    return [read(check, "pass", stage=stage, has_value=False) for check in GATE]


@pytest.mark.parametrize("stage", ["intake", "diagnosis"])
def test_six_passes_at_the_bench_open_the_gate(stage):
    assert gate_is_open(check_outcomes(all_passed(stage), TYPE_1))


def test_six_passes_on_site_do_not():
    assert not gate_is_open(check_outcomes(all_passed("on_site"), TYPE_1))


@pytest.mark.parametrize("left_out", GATE)
def test_five_of_six_do_not(left_out):
    readings = [r for r in all_passed("diagnosis") if r.check != left_out]
    assert not gate_is_open(check_outcomes(readings, TYPE_1))


def test_a_repair_shuts_the_gate_until_all_six_pass_after_it():
    before = all_passed("diagnosis")
    assert not gate_is_open(check_outcomes(before, TYPE_1, repaired=True))
    one_after = read("supply_wiring", "pass", stage="after_repair", has_value=False)
    assert check_outcomes([*before, one_after], TYPE_1) == {"supply_wiring": "pass"}
    after = all_passed("after_repair")
    assert gate_is_open(check_outcomes(before + after, TYPE_1, repaired=True))


def test_a_fail_of_another_stage_after_the_repair_shuts_the_gate_again():
    later = read("contactor_open", "fail", "L1")
    readings = [*all_passed("after_repair"), later]
    assert not gate_is_open(check_outcomes(readings, TYPE_1))
    # and a pass of another stage does not open it
    again = read("contactor_open", "pass", "L1")
    assert not gate_is_open(check_outcomes([*readings, again], TYPE_1))


def test_readings_after_a_repair_replace_those_before_for_other_checks():
    before = read("pilot_continuity", "fail")
    after = read("pilot_continuity", "pass", stage="after_repair")
    assert check_outcomes([before, after], {}) == {"pilot_continuity": "pass"}


@pytest.mark.parametrize(
    ("reading", "sentence"),
    [
        (read("colour", "pass"), "no check is called 'colour'"),
        (read("supply_wiring", "pass", stage="later"), "no stage is called 'later'"),
    ],
)
def test_a_reading_of_nothing_known_is_refused(reading, sentence):
    with pytest.raises(ValueError, match=sentence):
        check_states([reading], {})
