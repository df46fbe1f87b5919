"""Bench limits against the figures of the standards, as secondary readings give them.

Data    no data set; the limits themselves.
Values    SAE J1772 / IEC 61851-1 Annex A (pilot levels, duty law, R 1000, 2740 and
    1300 ohm, diode 0.7 V); IEC 61851-1 cable coding; UL 943 curve and IEC 61008
    times; ANSI C84.1 and EN 50160 voltages; IEC 60028 copper; AWG tables.
Read    secondary readings of each standard; AWG table, 3 mA and 0.5 points from memory.
Digits    as printed in those readings.
"""

import math

import pytest

from analytics.advice.limits_pilot import duty_percent
from analytics.advice.limits_power import COPPER_MOHM_MM2_PER_M, path_limit_mohm
from analytics.advice.reading_words import (
    LOAD_B_OHM,
    LOAD_C_OHM,
    leak_ohm,
    series_ohm,
)
from analytics.advice.readings import evaluate_reading, expected_window


def judged(check, value, unit, **context):
    return evaluate_reading(check, value, unit, stage="diagnosis", context=context)


@pytest.mark.parametrize(
    ("current_a", "duty"),
    [
        (6, 10.0),
        (10, 16.67),
        (13, 21.67),
        (16, 26.67),
        (24, 40.0),
        (30, 50.0),
        (32, 53.33),
        (40, 66.67),
        (48, 80.0),
        (51, 85.0),
        (65, 90.0),
        (80, 96.0),
    ],
)
def test_duty_of_a_current_is_that_of_the_standard(current_a, duty):
    assert duty_percent(current_a) == pytest.approx(duty, abs=0.005)


@pytest.mark.parametrize("current_a", [51.5, 52, 52.4])
def test_currents_in_the_jump_of_the_law_take_the_duty_of_the_lower_one(current_a):
    # 0.6 x 85 = 51 A and (85 - 64) x 2.5 = 52.5 A: no duty offers what lies between.
    assert duty_percent(current_a) == 85.0


@pytest.mark.parametrize(
    ("voltage", "leak", "within"), [(11.4, 19_000, 1), (11.0, 11_000, 1)]
)
def test_leak_behind_a_low_pilot_is_the_divider_of_the_source(voltage, leak, within):
    assert leak_ohm(voltage) == pytest.approx(leak, abs=within)


@pytest.mark.parametrize(
    ("voltage", "load", "extra"),
    [
        (9.56, LOAD_B_OHM, 891),
        (10.0, LOAD_B_OHM, 1910),
        (6.49, LOAD_C_OHM, 169),
        (7.0, LOAD_C_OHM, 378),
    ],
)
def test_series_resistance_behind_a_high_plateau_is_that_of_the_circuit(
    voltage, load, extra
):
    assert series_ohm(voltage, load) == pytest.approx(extra, abs=5)


@pytest.mark.parametrize(
    ("check", "volts", "outcome"),
    [
        # Plateaus of a working 11 kW unit, read with cursors: 12.2, 9.5, 6.4, -12.3 V.
        ("pilot_voltage_terminals", 12.2, "pass"),
        ("pilot_voltage_handle", 12.2, "pass"),
        ("pilot_voltage_state_b", 9.5, "pass"),
        ("pilot_voltage_state_c", 6.4, "pass"),
        ("pilot_negative_level", -12.3, "pass"),
        ("pilot_voltage_terminals", 11.3, "fail"),
        ("pilot_voltage_handle", 12.7, "fail"),
        ("pilot_voltage_state_b", 12.0, "fail"),
        ("pilot_voltage_state_c", 9.0, "fail"),
        ("pilot_negative_level", -11.3, "fail"),
        ("pilot_voltage_state_b", 10.5, "undefined"),
        ("pilot_voltage_state_c", 7.5, "undefined"),
    ],
)
def test_pilot_levels_are_judged_by_the_windows_of_the_states(check, volts, outcome):
    assert judged(check, volts, "V").outcome == outcome


@pytest.mark.parametrize(
    ("hertz", "outcome"), [(999, "pass"), (980, "pass"), (979, "fail"), (1021, "fail")]
)
def test_pilot_frequency_passes_within_two_percent(hertz, outcome):
    assert judged("pilot_frequency", hertz, "Hz").outcome == outcome


@pytest.mark.parametrize(
    ("connector", "duty", "outcome"),
    [
        ("type_1", 53.8, "pass"),
        ("type_1", 54.0, "fail"),
        ("type_2", 54.0, "pass"),
        ("type_2", 56.0, "fail"),
        # The 11 kW unit above: 26.4 to 27.2 % at 16 A.
        ("type_2", 26.4, "pass"),
    ],
)
def test_duty_has_half_a_point_at_type_1_and_two_and_a_half_at_type_2(
    connector, duty, outcome
):
    setting = 16 if duty < 30 else 32
    found = judged(
        "pilot_duty", duty, "%", connector=connector, current_setting_a=setting
    )
    assert found.outcome == outcome


@pytest.mark.parametrize(
    ("rated", "ohm"), [(13, 1500), (20, 680), (32, 220), (63, 100), (70, 100)]
)
def test_cable_coding_is_that_of_the_rated_current(rated, ohm):
    # 100 ohm is 63 A three-phase, 70 A single-phase.
    context = {"connector": "type_2", "rated_current_a": rated, "phases": 1}
    window = expected_window("cable_coding", context)
    assert (window.low, window.high) == pytest.approx((0.9 * ohm, 1.1 * ohm))


@pytest.mark.parametrize(
    ("system", "point", "low", "high"),
    [
        ("120", "L1-N", 114, 126),
        ("240", "L1-L2", 228, 252),
        ("240", "L1-N", 114, 126),
        ("208", "L1-L2", 197.6, 218.4),
        ("230", "L1-N", 207, 253),
        ("230_400", "L2-N", 207, 253),
        ("230_400", "L1-L3", 360, 440),
    ],
)
def test_supply_windows_are_range_a_and_ten_percent(system, point, low, high):
    window = expected_window(
        "supply_voltage", {"supply_system": system, "point": point}
    )
    assert (window.low, window.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("milliamp", "seconds"),
    [
        (6, 5.59),
        (10, 2.69),
        (15, 1.51),
        (20, 1.00),
        (30, 0.56),
        (50, 0.27),
        (100, 0.10),
        (264, 0.025),
    ],
)
def test_trip_time_of_the_5_ma_class_follows_the_class_a_curve(milliamp, seconds):
    context = {"ground_fault_device": "ccid5", "test_current_ma": milliamp}
    high = expected_window("ground_fault_trip_time", context).high
    assert high / 1000 == pytest.approx(seconds, rel=0.02)


@pytest.mark.parametrize(
    ("milliamp", "milliseconds"), [(30, 300), (60, 150), (150, 40)]
)
def test_trip_time_of_a_residual_current_device_falls_with_the_current(
    milliamp, milliseconds
):
    context = {"ground_fault_device": "rcd_a_30", "test_current_ma": milliamp}
    assert expected_window("ground_fault_trip_time", context).high == milliseconds


@pytest.mark.parametrize(
    ("device", "low", "high"),
    [("ccid5", 4, 6), ("ccid20", 15, 20), ("rcd_a_30", 15, 30)],
)
def test_trip_window_is_that_of_the_device_class(device, low, high):
    window = expected_window(
        "ground_fault_trip_current", {"ground_fault_device": device}
    )
    assert (window.low, window.high) == (low, high)


@pytest.mark.parametrize(
    ("milliamp", "outcome"), [(3.0, "fail"), (3.1, "pass"), (6, "pass"), (6.1, "fail")]
)
def test_direct_current_detector_acts_above_three_and_at_most_at_six(milliamp, outcome):
    assert judged("dc_trip_current", milliamp, "mA").outcome == outcome


@pytest.mark.parametrize(
    ("area", "per_metre"),
    [(2.081, 8.286), (3.309, 5.211), (5.261, 3.277), (8.367, 2.061)],
)
def test_copper_gives_the_resistance_of_the_wire_tables(area, per_metre):
    # AWG 14, 12, 10 and 8 by their areas in mm2.
    assert pytest.approx(per_metre, rel=1e-3) == COPPER_MOHM_MM2_PER_M / area


def test_path_limit_of_a_5_5_m_cable_of_10_awg_is_conductor_and_allowance():
    # 18.0 mohm of conductor; 15 % of it + 2 mohm = 4.7 mohm, below 5 mohm.
    context = {"cable_length_m": 5.5, "conductor_area_mm2": 5.261}
    assert path_limit_mohm(context) == pytest.approx(18.02 + 4.70, abs=0.02)


def test_path_allowance_never_exceeds_5_mohm():
    # 7.6 m of 14 AWG: 63.0 mohm; 15 % + 2 would be 11.4 mohm.
    context = {"cable_length_m": 7.6, "conductor_area_mm2": 2.081}
    assert path_limit_mohm(context) == pytest.approx(63.0 + 5.0, abs=0.05)


def test_probability_of_fail_is_the_normal_law_at_its_table_values():
    # Normal table: Phi(-1) = 0.1587, Phi(0) = 0.5, Phi(1.645) = 0.95.
    for steps, chance in ((-1, 0.1587), (0, 0.5), (1.645, 0.95)):
        found = evaluate_reading(
            "fuse_continuity",
            1 + steps * 0.05,
            "ohm",
            stage="diagnosis",
            context={},
            uncertainty=0.05,
        )
        assert found.probability_of_fail == pytest.approx(chance, abs=5e-5)
    assert not math.isnan(found.probability_of_fail)
