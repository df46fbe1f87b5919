"""A confirming check that failed makes what must be seen beside it lead."""

from analytics.advice.bench_state import bench_state
from analytics.advice.check_information import update_probabilities
from analytics.advice.check_table import default_check_table
from analytics.advice.first_check import next_check
from analytics.advice.gate import JudgedReading
from ingest.catalogue import checks

TYPE_1 = {"connector": "type_1", "supply_system": "240"}
TABLE = default_check_table(TYPE_1)
GATE = [check.code for check in checks().values() if check.gate]
PRIOR = {
    "handle_pilot_open": 0.2,
    "cable_pilot_open": 0.2,
    "handle_signal_contact_poor": 0.2,
    "handle_latch_switch_stuck_open": 0.2,
    "contactor_welded": 0.1,
    "control_supply_failed": 0.1,
}


def read(check, outcome, point=None):
    return JudgedReading(check, outcome, "diagnosis", point, has_value=False)


def advice(*readings):
    state = bench_state(readings, TYPE_1)
    shares = update_probabilities(PRIOR, TABLE, state.chances)
    listed = next_check(
        shares,
        TABLE,
        done=state.outcomes,
        proved_safe=state.proved_safe,
        energised=state.energised,
        isolations=state.isolations,
    )
    return state, shares, listed


PROVED = read("proved_dead", "pass")
OPEN_PILOT = read("pilot_continuity", "fail")


def test_a_failed_pilot_path_makes_its_core_the_next_check():
    state, shares, listed = advice(PROVED, OPEN_PILOT, PROVED)
    assert listed[0].check == "core_localisation"
    assert listed[0].blocked_by == ()
    pilot = [
        *("handle_pilot_open", "cable_pilot_open", "handle_signal_contact_poor"),
    ]
    assert set(state.isolations["core_localisation"]) == set(pilot)
    assert listed[0].confirm_probability == sum(shares[mode] for mode in pilot)


def test_before_it_the_unit_is_proved_dead_again():
    _, _, listed = advice(PROVED, OPEN_PILOT)
    assert (listed[0].check, listed[0].opens) == ("proved_dead", "core_localisation")


def test_it_is_offered_again_where_another_core_was_read():
    core = read("core_localisation", "pass", "PE")
    assert advice(PROVED, OPEN_PILOT, PROVED, core)[2][0].check == "core_localisation"
    own = read("core_localisation", "pass", "CP")
    listed = advice(PROVED, OPEN_PILOT, PROVED, own)[2]
    assert "core_localisation" not in {item.check for item in listed}


def test_what_isolates_live_waits_for_the_gate():
    supply = read("control_supply_voltage", "fail")
    _, _, listed = advice(PROVED, supply, PROVED, read("fuse_continuity", "pass"))
    offered = {item.check for item in listed}
    assert "supply_voltage" not in offered
    assert listed[0].check in GATE
    assert listed[0].opens == "supply_voltage"
    gate = [read(code, "pass") for code in GATE]
    _, _, listed = advice(
        *gate, supply, PROVED, read("fuse_continuity", "pass"), PROVED
    )
    assert listed[0].check == "supply_voltage"


def test_a_fail_whose_modes_are_all_ruled_out_is_not_isolated():
    fuse = read("fuse_continuity", "fail")
    state, shares, _ = advice(PROVED, read("control_supply_voltage", "fail"), fuse)
    assert state.chances["control_supply_voltage"] == "fail_not_isolated"
    assert state.chances["fuse_continuity"] == "fail"
    without = advice(PROVED, read("control_supply_voltage", "fail"))[1]
    assert shares["control_supply_failed"] < without["control_supply_failed"]
