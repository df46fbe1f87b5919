"""What is left before no fault found may be said; common practice, no source."""

import pytest

from analytics.advice.gate import JudgedReading
from analytics.advice.protocol import protocol_left
from ingest.catalogue import checks, protocol

TYPE_1 = {
    "connector": "type_1",
    "supply_system": "240",
    "ground_fault_device": "ccid20",
}


def whole(*without, times=1):
    return [
        JudgedReading(
            step.check,
            "pass",
            "diagnosis",
            condition="flexed" if step.flexed else None,
            has_value=False,
        )
        for step in protocol()
        for _ in range(times)
        if step.only_for is None
        and checks()[step.check].connector in (None, "type_1")
        and step.check not in without
    ]


def left(readings, **rest):
    return protocol_left(readings, TYPE_1, **rest)


def test_the_whole_protocol_passed_is_met():
    found = left(whole())
    assert (found.state, found.missing, found.failed) == ("met", (), ())
    assert "may be said" in found.words
    assert "three likeliest" in found.words


def test_each_step_left_out_is_named():
    for code in ("proved_dead", "path_resistance", "pilot_duty"):
        found = left(whole(code))
        assert found.state == "left"
        assert [step.checks for step in found.missing] == [(code,)]
        assert checks()[code].label in found.words


def test_points_and_flexing_are_named():
    (step,) = left(whole("earth_continuity")).missing
    assert step.points == ("handle", "metal")
    (step,) = left(whole("pilot_continuity")).missing
    assert step.flexed
    assert step.words.endswith(", flexed")


def test_one_end_of_the_pilot_is_enough():
    assert left(whole("pilot_voltage_handle")).state == "met"
    (step,) = left(whole("pilot_voltage_handle", "pilot_voltage_terminals")).missing
    assert step.checks == ("pilot_voltage_terminals", "pilot_voltage_handle")
    assert " or " in step.words


def test_what_comes_and_goes_asks_for_the_soak():
    (step,) = left(whole(), symptoms=["fails_when_wet"]).missing
    assert step.checks == ("soak",)
    assert left(whole(), symptoms=["offline"]).state == "met"


def test_an_unknown_device_asks_for_the_direct_current_trip():
    unknown = {"connector": "type_1", "supply_system": "240"}
    (step,) = protocol_left(whole(), unknown).missing
    assert step.checks == ("dc_trip_current",)


def test_a_failed_reading_contradicts_it():
    failed = JudgedReading("standing_leakage", "fail", "diagnosis")
    found = left([*whole(), failed])
    assert (found.state, found.failed) == ("contradicted", ("standing_leakage",))


def test_a_stated_reason_is_said_with_all_that_is_missing():
    found = left(whole("soak", "contactor_close"), reason=" customer wants it back ")
    assert found.state == "by_reason"
    assert "customer wants it back" in found.words
    assert checks()["contactor_close"].label in found.words
    assert left(whole(), reason="hurry").state == "met"


def test_confirming_checks_of_the_three_likeliest_are_passed_twice():
    shares = {
        "no_fault_found": 0.5,
        "contactor_welded": 0.2,
        "fuse_open": 0.15,
        "cable_pilot_open": 0.1,
        "meter_fault": 0.05,
    }
    once = left(whole(), probabilities=shares)
    assert once.state == "left"
    assert once.repeat == ("contactor_open", "fuse_continuity", "pilot_continuity")
    twice = left(whole(times=2), probabilities=shares)
    assert (twice.state, twice.repeat) == ("met", ())
    assert "three likeliest" not in twice.words


def test_the_vehicle_side_asks_for_a_charge_and_another_charger():
    found = left(whole(), outcome="vehicle_side_fault")
    assert [step.checks for step in found.missing] == [("charge_test",)]
    assert found.asks == ("the vehicle fails on another good charger",)
    charged = JudgedReading("charge_test", "pass", "diagnosis")
    done = left([*whole(), charged], outcome="vehicle_side_fault")
    assert done.state == "met_if"
    assert "may be said if the vehicle fails on another good charger" in done.words


def test_another_outcome_is_refused():
    with pytest.raises(ValueError, match="outcome must be one of"):
        left([], outcome="fuse_open")


def test_what_was_asked_of_another_charger_is_three_state():
    charged = JudgedReading("charge_test", "pass", "diagnosis")
    vehicle = {"outcome": "vehicle_side_fault"}
    asked = left([*whole(), charged], **vehicle).asks

    yes = left([*whole(), charged], answers=asked, **vehicle)
    no = left([*whole(), charged], denied=asked, **vehicle)

    assert (yes.state, yes.asks) == ("met", ())
    assert yes.words.startswith("The whole protocol passed")
    assert (no.state, no.asks) == ("contradicted", ())
    assert "may not be said yet" in no.words
    assert asked[0] in no.words
