"""Where along the pilot path a fault lies; common practice, no source."""

import pytest

from analytics.advice.gate import JudgedReading
from analytics.advice.localisation import localise

TYPE_1 = {"connector": "type_1"}


def places(**outcomes):
    points = {"core_localisation": "CP", "earth_continuity": "handle"}
    readings = [
        JudgedReading(check, outcome, "diagnosis", points.get(check))
        for check, outcome in outcomes.items()
    ]
    return {item.place: item for item in localise(readings, TYPE_1)}


def test_good_at_the_board_and_bad_at_the_handle_is_cord_or_handle():
    found = places(pilot_voltage_terminals="pass", pilot_voltage_handle="fail")
    assert list(found) == ["cord_or_handle"]
    assert "cable_pilot_open" in found["cord_or_handle"].modes
    assert "handle_pilot_open" in found["cord_or_handle"].modes


def test_a_whole_core_leaves_a_leak_or_the_earth():
    found = places(
        pilot_voltage_terminals="pass",
        pilot_voltage_handle="fail",
        pilot_continuity="pass",
    )["cord_or_handle"]
    assert found.modes == ("handle_pilot_leakage", "cable_pilot_leakage")
    assert "look for a leak" in found.words


@pytest.mark.parametrize(
    ("core", "place", "modes"),
    [
        ("pass", "handle_joint", ("handle_pilot_open", "handle_signal_contact_poor")),
        ("fail", "core", ("cable_pilot_open",)),
    ],
)
def test_the_core_alone_tells_the_joint_from_the_cord(core, place, modes):
    found = places(pilot_continuity="fail", core_localisation=core)
    assert {name: item.modes for name, item in found.items()} == {place: modes}


def test_an_open_earth_explains_none_at_the_handle():
    found = places(
        pilot_voltage_terminals="pass",
        pilot_voltage_handle="fail",
        earth_continuity="fail",
    )
    assert list(found) == ["earth"]
    assert "board's earth" in found["earth"].words


def test_the_earth_core_alone_tells_the_joint_from_the_cord():
    bad = JudgedReading("earth_continuity", "fail", "diagnosis", "handle")
    core = JudgedReading("core_localisation", "pass", "diagnosis", "PE")
    (found,) = localise([bad, core], TYPE_1)
    assert (found.place, found.modes[0]) == ("handle_joint", "handle_earth_open")
    other = JudgedReading("core_localisation", "pass", "diagnosis", "CP")
    assert localise([bad, other], TYPE_1) == ()


def test_bad_at_the_board_asks_to_lift_the_cord_off():
    found = places(pilot_voltage_terminals="fail", pilot_voltage_handle="fail")
    assert list(found) == ["board"]
    assert "lift the cord off" in found["board"].words


@pytest.mark.parametrize(
    "outcomes",
    [
        {},
        {"pilot_voltage_handle": "fail"},
        {"pilot_continuity": "fail"},
        {"core_localisation": "fail"},
        {"pilot_voltage_terminals": "pass", "pilot_voltage_handle": "pass"},
    ],
)
def test_one_reading_brackets_nothing(outcomes):
    assert places(**outcomes) == {}
