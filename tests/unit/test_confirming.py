"""What confirms a mode on the bench; the rules are common practice, no source."""

import pytest

from analytics.advice.confirming import all_asks, confirmed_modes, confirming
from analytics.advice.confirming_words import REMARKS, Beside, spelled
from analytics.advice.gate import JudgedReading
from ingest.catalogue import check_modes

TYPE_1 = {"connector": "type_1", "supply_system": "240"}


def read(check, outcome, point=None, **rest):
    return JudgedReading(check, outcome, rest.pop("stage", "diagnosis"), point, **rest)


def found(mode, *readings, **rest):
    return confirming(mode, readings, TYPE_1, **rest)


PILOT_OPEN = read("pilot_continuity", "fail", condition="flexed")


def test_a_failed_check_alone_confirms_nothing_that_needs_another_beside_it():
    for mode, must in (("handle_pilot_open", "pass"), ("cable_pilot_open", "fail")):
        state = found(mode, PILOT_OPEN)
        assert state.state == "open"
        assert state.support == "backed"
        assert state.beside_missing == (Beside("core_localisation", ("CP",), must),)
        assert state.next_isolation == "core_localisation"
        assert f"at CP must {must}" in state.words


def test_core_good_confirms_the_handle_and_rules_the_cord_out():
    core = read("core_localisation", "pass", "CP")
    assert found("handle_pilot_open", PILOT_OPEN, core).state == "confirmed"
    assert found("cable_pilot_open", PILOT_OPEN, core).state == "ruled_out"


def test_core_bad_confirms_the_cord_and_rules_the_handle_out():
    core = read("core_localisation", "fail", "CP")
    assert found("cable_pilot_open", PILOT_OPEN, core).state == "confirmed"
    handle = found("handle_pilot_open", PILOT_OPEN, core)
    assert handle.state == "ruled_out"
    assert handle.against == ("core_localisation",)
    assert "speaks against" in handle.words


def test_another_core_says_nothing():
    core = read("core_localisation", "pass", "PE")
    assert found("handle_pilot_open", PILOT_OPEN, core).state == "open"


def test_the_pole_that_failed_is_the_one_to_isolate():
    high = [
        read("path_resistance", "fail", "L2"),
        read("path_resistance", "pass", "L1"),
    ]
    state = found("handle_power_crimp_overheated", *high)
    assert {item.check: item.points for item in state.beside_missing} == {
        "core_localisation": ("L2",),
        "contact_resistance": ("L2",),
    }
    other = [read("contact_resistance", "pass", "L1")]
    assert len(found(state.mode, *high, *other).beside_missing) == 2
    own = [read("contact_resistance", "pass", "L2")]
    assert len(found(state.mode, *high, *own).beside_missing) == 1


def test_nothing_read_leaves_a_mode_open():
    state = found("contactor_welded")
    assert (state.state, state.support) == ("open", "unbacked")
    assert state.words.startswith("No check that confirms")


def test_what_no_reading_says_is_asked_and_an_answer_confirms():
    state = found("contactor_high_resistance", read("contactor_close", "fail", "L1"))
    assert state.state == "confirmed_if"
    assert state.asks == ("terminals tight",)
    assert "if: terminals tight" in state.words
    yes = found(
        "contactor_high_resistance",
        read("contactor_close", "fail", "L1"),
        answers=state.asks,
    )
    assert (yes.state, yes.asks) == ("confirmed", ())
    assert yes.said == state.asks


def test_what_was_asked_and_answered_no_confirms_nothing():
    high = read("contactor_close", "fail", "L1")
    asked = found("contactor_high_resistance", high).asks

    no = found("contactor_high_resistance", high, denied=asked)

    assert (no.state, no.asks, no.denied) == ("not_confirmed", (), asked)
    assert "not so: terminals tight" in no.words
    assert "does not confirm" in no.words


def test_a_condition_of_the_other_connector_is_not_asked():
    state = found("handle_latch_broken", read("latch_operation", "fail"))
    assert state.asks == ("type 1: latch",)


def test_all_confirming_checks_passed_rule_a_mode_out():
    passed = [read("pilot_continuity", "pass", condition="flexed")]
    state = found("handle_pilot_open", *passed)
    assert (state.state, state.against) == ("ruled_out", ("pilot_continuity",))
    still = [read("pilot_continuity", "pass", condition="still")]
    assert found("handle_pilot_open", *still).state == "open"


def test_the_last_reading_decides_and_one_after_the_repair_does_not_count():
    again = read("contactor_open", "pass", "L1", order=2.0)
    first = read("contactor_open", "fail", "L1", order=1.0)
    assert found("contactor_welded", first, again).by == ()
    assert found("contactor_welded", again, first).by == ()
    repaired = read("contactor_open", "pass", "L1", order=2.0, stage="after_repair")
    assert found("contactor_welded", first, repaired).by == ("contactor_open",)


def test_live_checks_beside_come_after_dead_ones():
    state = found("control_supply_failed", read("control_supply_voltage", "fail"))
    assert [item.check for item in state.beside_missing] == [
        "fuse_continuity",
        "supply_voltage",
    ]


def test_only_modes_with_a_reading_for_or_against_are_listed():
    listed = {item.mode: item.state for item in confirmed_modes([PILOT_OPEN], TYPE_1)}
    assert listed == {
        "handle_pilot_open": "open",
        "handle_signal_contact_poor": "open",
        "cable_pilot_open": "open",
    }


def test_what_no_check_confirms_is_refused():
    with pytest.raises(ValueError, match="only by the whole protocol"):
        found("no_fault_found")
    with pytest.raises(ValueError, match="no failure mode is called 'rust'"):
        found("rust")


def test_what_is_to_be_minded_is_told_and_never_asked():
    state = found(
        "fuse_open",
        read("fuse_continuity", "fail"),
        read("insulation_resistance", "pass"),
    )

    assert (state.state, state.asks) == ("confirmed", ())
    assert "Mind: find why before renewing" in state.words


def test_every_remark_stands_in_the_catalogue_and_none_is_asked():
    told = {part.strip() for link in check_modes() for part in link.beside.split(";")}

    assert told >= REMARKS
    assert told >= set(all_asks())
    assert not REMARKS & set(all_asks())


def test_no_code_is_left_in_what_is_asked():
    assert [part for part in all_asks() if "_" in spelled(part)] == []
