"""Where a case stands on the bench: gate, proof that the unit is dead, and why not."""

import pytest

from analytics.advice.bench_state import SHUTS_THE_GATE, bench_state
from analytics.advice.gate import JudgedReading
from ingest.catalogue import checks

TYPE_1 = {"connector": "type_1", "supply_system": "240"}
GATE = tuple(check.code for check in checks().values() if check.gate)


def passed(*codes, **rest):
    return [read(code, "pass", **rest) for code in codes]


def read(check, outcome, point=None, *, stage="diagnosis", word=True, **rest):
    return JudgedReading(check, outcome, stage, point, has_value=not word, **rest)


def state(*readings, **rest):
    return bench_state(readings, TYPE_1, **rest)


def reasons(found):
    return {reason.check: reason for reason in found.gate}


def test_all_gate_checks_passed_open_the_gate_and_leave_no_reason():
    found = state(*passed(*GATE))
    assert found.gate_is_open
    assert found.gate == ()
    assert found.not_safe == ""


def test_nothing_recorded_names_every_gate_check_as_open():
    found = state()
    assert not found.gate_is_open
    assert [reason.check for reason in found.gate] == list(GATE)
    assert {reason.outcome for reason in found.gate} == {"open"}
    assert found.not_safe == "The unit has not been proved dead."


def test_a_reason_names_the_points_that_are_missing():
    found = reasons(state(read("contactor_open", "pass", "L1", word=False)))
    assert found["contactor_open"].outcome == "incomplete"
    assert found["contactor_open"].missing_points == ("L2",)
    assert "points missing: L2" in found["contactor_open"].why


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        ("fail", "put it right"),
        ("undefined", "neither pass nor fail"),
        ("not_done", "not done"),
    ],
)
def test_a_gate_check_that_has_not_passed_says_why(outcome, words):
    found = state(*passed(*GATE), read("supply_wiring", outcome))
    assert not found.gate_is_open
    assert list(reasons(found)) == ["supply_wiring"]
    assert words in reasons(found)["supply_wiring"].why


@pytest.mark.parametrize("finding", SHUTS_THE_GATE)
def test_a_dangerous_finding_shuts_the_gate_whatever_else_has_passed(finding):
    found = state(*passed(*GATE), findings=[finding])
    assert not found.gate_is_open
    assert found.outcomes["visual_inspection"] == "fail"
    assert list(reasons(found)) == ["visual_inspection"]
    why = reasons(found)["visual_inspection"].why
    assert "noted as seen to" in why
    assert "_" not in why


@pytest.mark.parametrize("finding", SHUTS_THE_GATE)
def test_an_inspection_that_says_it_was_seen_to_opens_it_again(finding):
    seen = read("visual_inspection", "pass", finding)
    assert state(*passed(*GATE), seen, findings=[finding]).gate_is_open
    again = read("visual_inspection", "fail", finding)
    assert not state(*passed(*GATE), seen, again, findings=[finding]).gate_is_open
    assert not state(*passed(*GATE), again).gate_is_open


def test_that_one_was_seen_to_says_nothing_of_another_nor_of_the_whole():
    dry = read("visual_inspection", "pass", "water_inside")
    both = ["water_inside", "conductor_loose"]
    found = state(*passed(*GATE), dry, findings=both)
    assert not found.gate_is_open
    assert "conductor loose" in reasons(found)["visual_inspection"].why
    assert "water" not in reasons(found)["visual_inspection"].why
    whole = [code for code in GATE if code != "visual_inspection"]
    assert not state(*passed(*whole), dry, findings=["water_inside"]).gate_is_open


def test_before_the_inside_was_seen_a_finding_leaves_the_inspection_to_be_done():
    found = state(findings=["water_inside"])
    assert found.outcomes["visual_inspection"] == "incomplete"
    assert found.states["visual_inspection"].missing_points == ("water_inside",)


def test_a_neutral_as_earth_is_a_fault_whatever_else_works():
    found = state(*passed(*GATE), findings=["conductor_on_wrong_terminal"])
    assert "whatever else works" in reasons(found)["visual_inspection"].why


def test_the_inspection_after_a_repair_speaks_of_every_finding():
    after = passed(*GATE, stage="after_repair")
    assert state(*passed(*GATE), *after, findings=["water_inside"]).gate_is_open
    other = read("visual_inspection", "pass", "cable_damaged", stage="after_repair")
    found = state(*passed(*GATE), other, findings=["water_inside"])
    assert not found.gate_is_open


@pytest.mark.parametrize("finding", ["clean", "pin_corrosion", "label_missing"])
def test_other_findings_leave_the_gate_alone(finding):
    assert state(*passed(*GATE), findings=[finding]).gate_is_open


def test_a_finding_that_does_not_exist_is_refused():
    with pytest.raises(ValueError, match="no finding is called fire"):
        state(findings=["fire"])


def test_a_failed_reading_takes_the_proof_away_until_it_is_proved_again():
    failed = read("pilot_continuity", "fail")
    found = state(*passed(*GATE), failed)
    assert not found.proved_safe
    assert not found.gate_is_open
    assert "failed after the unit was proved dead" in found.not_safe
    assert state(*passed(*GATE), failed, *passed("proved_dead")).gate_is_open


@pytest.mark.parametrize("outcome", ["fail", "not_done", "undefined"])
def test_a_proof_that_did_not_pass_is_none(outcome):
    found = state(*passed(*GATE), read("proved_dead", outcome))
    assert not found.proved_safe
    assert found.not_safe


def test_a_proof_made_on_site_is_none():
    assert not state(*passed("proved_dead", stage="on_site")).proved_safe


def test_opened_again_resets_the_proof():
    proof = read("proved_dead", "pass", order=1.0)
    assert not state(proof, opened=[1.5]).proved_safe
    assert state(proof, opened=[0.5]).proved_safe
    again = read("proved_dead", "pass", order=2.0)
    assert state(proof, again, opened=[1.5]).proved_safe


def test_another_day_or_another_technician_resets_the_proof():
    proof = read("proved_dead", "pass", day="Monday", technician="a")
    assert state(proof, day="Monday", technician="a").proved_safe
    assert "another day" in state(proof, day="Tuesday").not_safe
    assert "Someone else" in state(proof, technician="b").not_safe
    later = read("fuse_continuity", "pass", day="Tuesday")
    assert not state(proof, later).proved_safe


def test_a_repair_resets_every_gate_check_and_the_proof():
    found = state(*passed(*GATE), repaired=True)
    assert not found.proved_safe
    assert len(found.gate) == len(GATE)
    begun = state(*passed(*GATE), *passed("earth_continuity", stage="after_repair"))
    assert not begun.proved_safe
    # A proof typed as one of diagnosis after the repair has begun is none either.
    late = passed("proved_dead", "earth_continuity", stage="after_repair")
    assert state(*passed(*GATE), *late).proved_safe
    assert not state(*late[1:], *passed("proved_dead")).proved_safe


def test_live_work_energises_until_proved_dead_again():
    live = read("pilot_voltage_handle", "pass")
    assert not state(*passed(*GATE)).energised
    assert state(*passed(*GATE), live).energised
    assert not state(*passed(*GATE), live, *passed("proved_dead")).energised
    assert state(live, read("proved_dead", "fail")).energised
    assert not state(read("pilot_voltage_handle", "not_done")).energised
    assert not state(read("supply_voltage", "pass", stage="on_site")).energised


def test_near_a_limit_the_chance_of_the_worst_point_speaks():
    found = state(
        read("fuse_continuity", "pass", "F1", word=False, probability_of_fail=0.02),
        read("fuse_continuity", "pass", "F2", word=False, probability_of_fail=0.4),
    )
    assert found.chances == {"fuse_continuity": 0.4}
    assert found.outcomes == {"fuse_continuity": "pass"}


def test_the_last_reading_of_a_point_gives_the_chance():
    found = state(
        read("fuse_continuity", "pass", "F1", word=False, probability_of_fail=0.4),
        read("fuse_continuity", "pass", "F1", word=False, probability_of_fail=0.1),
    )
    assert found.chances == {"fuse_continuity": 0.1}


def test_without_a_chance_the_word_speaks():
    assert state(*passed("fuse_continuity")).chances == {"fuse_continuity": "pass"}
    open_ = read("contactor_open", "pass", "L1", word=False, probability_of_fail=0.1)
    assert state(open_).chances == {"contactor_open": "incomplete"}


def test_a_finding_and_the_inspection_are_one_observation_and_so_is_the_log():
    typed = passed("visual_inspection", "settings_and_log")
    assert set(state(*typed).chances) == {"visual_inspection", "settings_and_log"}
    assert set(state(*typed, findings=["clean"]).chances) == {"settings_and_log"}
    assert set(state(*typed, error_words=["OverVoltage"]).chances) == {
        "visual_inspection"
    }
