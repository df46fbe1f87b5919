"""Each sourced bench limit: a reading at it, just inside and just outside.

Data    no data set; the limits themselves. Each row carries its source.
Values    SAE J1772 / IEC 61851-1 Annex A (pilot 12 and -12 V within 0.6 V, states B and
    C by component tolerances, gaps between the states, 2 % of 1 kHz, duty law),
    J1772 proximity circuit (150 and 480 ohm), VDE 0701-0702 (1 Mohm, 3.5 mA, 0.3 ohm
    to 5 m and 0.1 ohm for each 7.5 m more, at most 1 ohm), ANSI C84.1 Range A, EN
    50160, UL 2231-2, UL 943, IEC 61008, IEC 62955, IEC 62196-1, IEC 60028.
Read    secondary readings of each standard; a row says what is from memory.
Digits    as printed there; the step beside a limit is its last digit or finer.
"""

import pytest

from tests.limit_edges import UNDEFINED, Edge, hold, judged

PILOT = "SAE J1772 / IEC 61851-1 Annex A, secondary reading"
STATES = f"{PILOT}; window derived from component tolerances"
FREQUENCY = "IEC 61851-1:2017 (2 % at the vehicle side), secondary reading"
DUTY = (
    "SAE J1772 / IEC 61851-1 duty law and IEC 61851-1:2010 pulse width, secondary"
    " reading; 0.5 points from memory"
)
PROXIMITY = "SAE J1772 proximity circuit, secondary reading; 10 % from memory"
INSULATION = "1 Mohm at 500 V d.c.: VDE 0701 and IEC 61851-1, secondary reading"
EARTH = (
    "0.1 ohm plus conductor resistance: UK Code of Practice, from memory; thin"
    " conductors VDE 0701-0702, secondary reading; change on flexing common practice,"
    " no source"
)
SUPPLY = "ANSI C84.1 Range A and EN 50160, secondary reading"
LEAKAGE = "VDE 0701-0702, secondary reading"
TRIP = "UL 2231-2 and IEC 61008, secondary reading; 6 mA of the 5 mA class from memory"
TRIP_TIME = (
    "UL 943 curve and IEC 61008, secondary reading; that the 20 mA class follows the"
    " curve not verified"
)
DC = "IEC 62955, secondary reading; 3 mA from memory"
DC_TIME = "IEC 62955, secondary reading"
HEAT = "IEC 62196-1 and UL 2251 (50 K), from memory"
TYPE_1, TYPE_2 = {"connector": "type_1"}, {"connector": "type_2"}
NARROW = "connector not recorded, 0.5 points taken"
NO_SETTING = "current setting not recorded"
NO_SYSTEM = "supply system not recorded"
NO_DEVICE = "ground-fault device not recorded, the strictest taken"


def setting(current_a, **more):
    return {"current_setting_a": current_a} | more


def cable(length_m=None, area_mm2=None):
    return {"cable_length_m": length_m, "earth_area_mm2": area_mm2}


def supply(system, point):
    return {"supply_system": system, "point": point}


def fitted(device, test_ma=None):
    return {"ground_fault_device": device, "test_current_ma": test_ma}


# Columns: check, the unit's facts, at, inside, outside, unit, source.
EDGES = [
    Edge("pilot_voltage_terminals", {}, 11.4, 11.41, 11.39, "V", PILOT),
    Edge("pilot_voltage_terminals", {}, 12.6, 12.59, 12.61, "V", PILOT),
    Edge("pilot_voltage_handle", {}, 11.4, 11.41, 11.39, "V", PILOT),
    Edge("pilot_voltage_handle", {}, 12.6, 12.59, 12.61, "V", PILOT),
    Edge("pilot_negative_level", {}, -12.6, -12.59, -12.61, "V", PILOT),
    Edge("pilot_negative_level", {}, -11.4, -11.41, -11.39, "V", PILOT),
    Edge("pilot_voltage_state_b", {}, 8.37, 8.38, 8.36, "V", STATES),
    Edge("pilot_voltage_state_b", {}, 9.59, 9.58, 9.60, "V", STATES),
    Edge("pilot_voltage_state_c", {}, 5.47, 5.48, 5.46, "V", STATES),
    Edge("pilot_voltage_state_c", {}, 6.53, 6.52, 6.54, "V", STATES),
    # Windows of a state are 1 V to either side: 11-13, 8-10, 5-7, 2-4, -1-+1 V. What
    # lies between them is no state.
    *(
        Edge(check, {}, at, inside, outside, "V", STATES, UNDEFINED)
        for check in ("pilot_voltage_state_b", "pilot_voltage_state_c")
        for at, inside, outside in (
            (11, 10.99, 11.01), (10, 10.01, 9.99), (8, 7.99, 8.01), (7, 7.01, 6.99),
            (5, 4.99, 5.01), (4, 4.01, 3.99), (2, 1.99, 2.01), (1, 1.01, 0.99),
        )
    ),
    Edge("pilot_frequency", {}, 980, 980.1, 979.9, "Hz", FREQUENCY),
    Edge("pilot_frequency", {}, 1020, 1019.9, 1020.1, "Hz", FREQUENCY),
    # 24 A is 40 %, 6 A 10 %, 51 A 85 %, 80 A 96 %.
    Edge("pilot_duty", setting(24, **TYPE_1), 39.5, 39.6, 39.4, "%", DUTY),
    Edge("pilot_duty", setting(24, **TYPE_1), 40.5, 40.4, 40.6, "%", DUTY),
    Edge("pilot_duty", setting(6, **TYPE_1), 9.5, 9.6, 9.4, "%", DUTY),
    Edge("pilot_duty", setting(51, **TYPE_1), 85.5, 85.4, 85.6, "%", DUTY),
    Edge("pilot_duty", setting(80, **TYPE_1), 96.5, 96.4, 96.6, "%", DUTY),
    Edge("pilot_duty", setting(24, **TYPE_2), 37.5, 37.6, 37.4, "%", DUTY),
    Edge("pilot_duty", setting(24, **TYPE_2), 42.5, 42.4, 42.6, "%", DUTY),
    Edge("pilot_duty", setting(24), 40.5, 40.4, 40.6, "%", DUTY, words=NARROW),
    # The setting not known: nothing passes, and no offer may exceed the rated current.
    Edge(
        "pilot_duty", TYPE_1 | {"rated_current_a": 24}, 40.5, 40.4, 40.6, "%", DUTY,
        UNDEFINED, NO_SETTING,
    ),
    Edge(
        "pilot_duty", TYPE_2 | {"rated_current_a": 24}, 42.5, 42.4, 42.6, "%", DUTY,
        UNDEFINED, NO_SETTING,
    ),
    Edge("proximity_latch_at_rest", TYPE_1, 135, 135.1, 134.9, "ohm", PROXIMITY),
    Edge("proximity_latch_at_rest", TYPE_1, 165, 164.9, 165.1, "ohm", PROXIMITY),
    Edge("proximity_latch_pressed", TYPE_1, 432, 432.1, 431.9, "ohm", PROXIMITY),
    Edge("proximity_latch_pressed", TYPE_1, 528, 527.9, 528.1, "ohm", PROXIMITY),
    Edge("insulation_resistance", {}, 1, 1.01, 0.99, "Mohm", INSULATION),
    Edge("insulation_resistance", {}, 1000, 1001, 999, "kohm", INSULATION),
    # Copper of 1/58 ohm mm2/m: 14.5 m of 2.5 mm2 are 0.1 ohm, 5 m of it 0.034 ohm.
    Edge("earth_continuity", cable(14.5, 2.5), 0.2, 0.199, 0.201, "ohm", EARTH),
    Edge(
        "earth_continuity", cable(None, 2.5), 0.134482759, 0.1344, 0.1345, "ohm", EARTH,
        words="cable length not recorded, 5 m taken",
    ),
    Edge(
        "earth_continuity", cable(10), 0.183, 0.182, 0.184, "ohm", EARTH,
        words="earth area not recorded, 8.3 mohm/m taken",
    ),
    Edge(
        "earth_continuity", {}, 0.1415, 0.141, 0.142, "ohm", EARTH,
        words="5 m taken; earth area not recorded, 8.3 mohm/m taken",
    ),
    # Thin conductors, where the conductor alone would allow more.
    Edge("earth_continuity", cable(10, 0.5), 0.4, 0.399, 0.401, "ohm", EARTH),
    Edge("earth_continuity", cable(12.5, 0.5), 0.4, 0.399, 0.401, "ohm", EARTH),
    Edge("earth_continuity", cable(12.6, 0.5), 0.5, 0.499, 0.501, "ohm", EARTH),
    Edge("earth_continuity", cable(70, 1), 1.0, 0.999, 1.001, "ohm", EARTH),
    *(
        Edge("supply_voltage", supply(system, point), at, inside, outside, "V", SUPPLY)
        for system, point, low, high in (
            ("120", "L1-N", 114, 126), ("240", "L1-N", 114, 126),
            ("240", "L1-L2", 228, 252), ("208", "L1-L2", 197.6, 218.4),
            ("208", "L1-N", 114, 126), ("230", "L1-N", 207, 253),
            ("230_400", "L2-N", 207, 253), ("230_400", "L1-L3", 360, 440),
        )
        for at, inside, outside in (
            (low, low + 0.1, low - 0.1), (high, high - 0.1, high + 0.1),
        )
    ),
    # The system not known: what some system allows is undefined, the rest fails.
    *(
        Edge(
            "supply_voltage", supply(None, point), at, inside, outside, "V", SUPPLY,
            UNDEFINED, NO_SYSTEM,
        )
        for point, at, inside, outside in (
            ("L1-N", 114, 114.1, 113.9), ("L1-N", 126, 125.9, 126.1),
            ("L1-N", 207, 207.1, 206.9), ("L1-N", 253, 252.9, 253.1),
            ("L1-L2", 197.6, 197.7, 197.5), ("L1-L2", 440, 439.9, 440.1),
        )
    ),
    Edge("standing_leakage", {}, 3.5, 3.49, 3.51, "mA", LEAKAGE),
    Edge("ground_fault_trip_current", fitted("ccid5"), 4, 4.1, 3.9, "mA", TRIP),
    Edge("ground_fault_trip_current", fitted("ccid5"), 6, 5.9, 6.1, "mA", TRIP),
    Edge("ground_fault_trip_current", fitted("ccid20"), 15, 15.1, 14.9, "mA", TRIP),
    Edge("ground_fault_trip_current", fitted("ccid20"), 20, 19.9, 20.1, "mA", TRIP),
    Edge("ground_fault_trip_current", fitted("rcd_a_30"), 15, 15.1, 14.9, "mA", TRIP),
    Edge("ground_fault_trip_current", fitted("rcd_a_30"), 30, 29.9, 30.1, "mA", TRIP),
    Edge("ground_fault_trip_current", {}, 6, 5.9, 6.1, "mA", TRIP, words=NO_DEVICE),
    # (20 / 20) ** 1.43 = 1 s; 30, 60 and 150 mA are 1, 2 and 5 times 30 mA.
    Edge("ground_fault_trip_time", fitted("ccid5", 20), 1, 0.99, 1.01, "s", TRIP_TIME),
    Edge("ground_fault_trip_time", fitted("ccid20", 20), 1, 0.99, 1.01, "s", TRIP_TIME),
    *(
        Edge(
            "ground_fault_trip_time", fitted("rcd_a_30", test_ma), most, most - 1,
            most + 1, "ms", TRIP_TIME,
        )
        for test_ma, most in ((30, 300), (59.9, 300), (60, 150), (149, 150), (150, 40))
    ),
    Edge(
        "ground_fault_trip_time", fitted(None, 30), 300, 299, 301, "ms", TRIP_TIME,
        words=NO_DEVICE,
    ),
    Edge(
        "ground_fault_trip_time", fitted("rcd_a_30"), 300, 299, 301, "ms", TRIP_TIME,
        words="test current not recorded, the trip level taken",
    ),
    # No trip at 3 mA: what acts there is too sharp.
    Edge("dc_trip_current", {}, 3, 3.01, 2.99, "mA", DC, ("fail", "pass", "fail")),
    Edge("dc_trip_current", {}, 6, 5.99, 6.01, "mA", DC),
    Edge("dc_trip_time", {}, 10_000, 9_999, 10_001, "ms", DC_TIME),
    Edge("handle_temperature_rise", {}, 50, 49.9, 50.1, "K", HEAT),
]  # fmt: skip

BEYOND = [
    ("insulation_resistance", {}, ">1", "Mohm", "pass"),
    ("insulation_resistance", {}, ">0.99", "Mohm", "undefined"),
    ("insulation_resistance", {}, "<1", "Mohm", "fail"),
    ("insulation_resistance", {}, "<1.01", "Mohm", "undefined"),
    ("insulation_resistance", {}, "OL", "Mohm", "pass"),
    ("earth_continuity", cable(14.5, 2.5), "<0.2", "ohm", "pass"),
    ("earth_continuity", cable(14.5, 2.5), ">0.2", "ohm", "fail"),
    ("earth_continuity", cable(14.5, 2.5), ">0.19", "ohm", "undefined"),
    ("earth_continuity", cable(14.5, 2.5), "OL", "ohm", "fail"),
    ("dc_trip_current", {}, "<3.01", "mA", "undefined"),
    ("dc_trip_current", {}, "<3", "mA", "fail"),
    ("dc_trip_current", {}, ">6", "mA", "fail"),
    ("dc_trip_time", {}, "<10", "s", "pass"),
    ("dc_trip_time", {}, ">10", "s", "fail"),
    ("ground_fault_trip_current", fitted("ccid20"), ">20", "mA", "fail"),
    ("ground_fault_trip_current", fitted("ccid20"), "<15", "mA", "fail"),
    ("ground_fault_trip_current", fitted("ccid20"), ">15", "mA", "undefined"),
    ("proximity_latch_at_rest", TYPE_1, ">165", "ohm", "fail"),
    ("proximity_latch_at_rest", TYPE_1, "<135", "ohm", "fail"),
    ("proximity_latch_at_rest", TYPE_1, ">135", "ohm", "undefined"),
    ("pilot_voltage_handle", {}, ">12.6", "V", "fail"),
    ("pilot_voltage_state_c", {}, ">6.53", "V", "undefined"),
    ("supply_voltage", supply("230", "L1-N"), "<207", "V", "fail"),
]  # fmt: skip


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_a_reading_at_inside_and_outside_a_sourced_limit(edge):
    hold(edge)


@pytest.mark.parametrize(("check", "context", "shown", "unit", "outcome"), BEYOND)
def test_a_reading_beyond_the_range_is_judged_by_all_it_may_be(
    check, context, shown, unit, outcome
):
    assert judged(check, shown, unit, context).outcome == outcome
