"""Readings of the invented fleet agree with the limits and the order of the trade.

Sources: pilot levels, frequency and duty, IEC 61851-1 Annex A (secondary reading);
proximity of type 1, SAE J1772, and cable coding of type 2, IEC 62196-2 (secondary
readings); insulation and earth, VDE 0701 (secondary reading); trip levels, UL 2231
and IEC 61008 (secondary readings, 15 mA of ccid20 not verified); d.c. trip, IEC 62955
(secondary reading); supply, ANSI C84.1 Range A and EN 50160 (secondary readings);
temperature rise, IEC 62196-1 (from memory); everything else common practice, no source.
"""

import datetime as dt
from typing import Any

import numpy as np
import pytest

from ingest import catalogue
from synthetic_data import scenario
from synthetic_data.bench import GATE, Protocol, confirming_steps
from synthetic_data.bench_values import Bench, checks, lines

INF = float("inf")
LIMITS = {
    "fuse_continuity": (0, 1),
    "insulation_resistance": (1, INF),
    "contactor_open": (1, INF),
    "pilot_continuity": (0, 1),
    "core_localisation": (0, 1),
    "pilot_insulation": (1, INF),
    "line_continuity": (0, 0.3),
    "contact_resistance": (0, 5),
    "contactor_close": (0, 5),
    "contactor_coil": (146, 219),
    "proximity_latch_at_rest": (135, 165),
    "proximity_latch_pressed": (432, 528),
    "temperature_sensor_offset": (-3, 3),
    "control_supply_voltage": (11.4, 12.6),
    "pilot_voltage_terminals": (11.4, 12.6),
    "pilot_voltage_handle": (11.4, 12.6),
    "pilot_voltage_state_b": (8.37, 9.59),
    "pilot_voltage_state_c": (5.47, 6.53),
    "pilot_negative_level": (-12.6, -11.4),
    "pilot_frequency": (980, 1020),
    "standing_leakage": (0, 3.5),
    "ground_fault_trip_time": (0, 300),
    "dc_trip_current": (3, 6),
    "dc_trip_time": (0, 10_000),
    "current_reading": (-5, 5),
    "energy_reading": (-2, 2),
    "handle_temperature_rise": (0, 50),
}
TRIP_LIMITS = {"ccid5": (4, 6), "ccid20": (15, 20), "rcd_a_30": (15, 30)}
SUPPLY_LIMITS = dict.fromkeys(("208", "240"), (114, 126)) | dict.fromkeys(
    ("230", "230_400"), (207, 253)
)
OHM = {"mohm": 1e-3, "mΩ": 1e-3, "ohm": 1, "Ω": 1, "Mohm": 1e6, "MΩ": 1e6}
# Duty of the rated currents: 0.6 A per per cent up to 51 A, worked by hand.
DUTY = {20: 33.33, 32: 53.33, 48: 80.0}
CODING_LIMITS = {20: (612, 748), 32: (198, 242)}
# Conductor values at 20 degrees in mohm per metre: American gauge tables, from memory.
GAUGE_MOHM_PER_M = {3.31: 5.211, 5.26: 3.277, 8.37: 2.061, 6.0: 2.874}
LIVE = {
    *("contactor_close", "supply_voltage", "supply_simulation", "soak", "charge_test"),
    *("control_supply_voltage", "pilot_voltage_terminals", "pilot_voltage_handle"),
    *("pilot_voltage_state_b", "pilot_voltage_state_c", "pilot_negative_level"),
    *("pilot_frequency", "pilot_duty", "pilot_state_recognised", "coil_drive"),
    *("output_voltage_by_state", "earth_monitor_test", "standing_leakage"),
    *("ground_fault_trip_current", "ground_fault_trip_time", "dc_trip_current"),
    *("dc_trip_time", "current_reading", "energy_reading", "handle_temperature_rise"),
    "boot_and_communication",
}
ALL_MODES = [law.mode for law in scenario.mode_laws()]
OUTSIDE = {"no_fault_found", "vehicle_side_fault"}


def unit_of(model: scenario.Model, system: str) -> dict[str, Any]:
    return {
        "connector": model.connector,
        "phases": model.phases,
        "cable_length_m": model.lengths_m[1],
        "conductor_area_mm2": model.conductor_area_mm2,
        "earth_area_mm2": model.earth_area_mm2,
        "rated_current_a": model.rated_current_a,
        "supply_system": system,
        "ground_fault_device": model.ground_fault_device,
    }


UNITS = [
    unit_of(model, system)
    for model in scenario.MODELS
    for system in sorted(set(model.supply_systems))
]


def limits(check: str, unit: dict[str, Any]) -> tuple[float, float]:
    if check in LIMITS:
        return LIMITS[check]
    if check == "earth_continuity":
        value = GAUGE_MOHM_PER_M[unit["earth_area_mm2"]] / 1000
        return 0, 0.1 + value * unit["cable_length_m"]
    if check == "path_resistance":
        conductor = (
            GAUGE_MOHM_PER_M[unit["conductor_area_mm2"]] * unit["cable_length_m"]
        )
        return 0, conductor + min(0.15 * conductor + 2, 5)
    if check == "pilot_duty":
        middle = DUTY[unit["rated_current_a"]]
        return middle - 0.5, middle + 0.5
    device = unit["ground_fault_device"].split(";")[0]
    return {
        "cable_coding": CODING_LIMITS.get(unit["rated_current_a"], (0, 0)),
        "supply_voltage": SUPPLY_LIMITS[unit["supply_system"]],
        "ground_fault_trip_current": TRIP_LIMITS[device],
    }[check]


def judged(reading: dict[str, Any], unit: dict[str, Any]) -> bool:
    """Return whether a reading passes."""
    if "outcome" in reading:
        return bool(reading["outcome"] == "pass")
    low, high = limits(reading["check"], unit)
    text = reading["value"]
    if text == "OL":
        return high == INF
    if text.startswith(">"):
        return high == INF and float(text[1:]) >= low
    own = checks()[reading["check"]].unit
    factor = OHM.get(reading["unit"], 1) / OHM.get(own, 1)
    return low <= float(text) * factor <= high


def case_of(mode: str, unit: dict[str, Any], seed: int) -> list[dict[str, Any]]:
    days = {
        "received": dt.date(2025, 3, 3),
        "confirmed": dt.date(2025, 3, 10),
        "closed": dt.date(2025, 3, 12),
    }
    case = {"case_id": "W-000001", "disposition": "repaired"}
    protocol = Protocol(np.random.default_rng(seed))
    return protocol.readings(case, unit, mode, days)


def fitting(mode: str) -> list[dict[str, Any]]:
    only = next(law.only for law in scenario.mode_laws() if law.mode == mode)
    kept = [unit for unit in UNITS if only in {"", "plug", unit["connector"]}]
    return kept[:: max(1, len(kept) // 3)]


@pytest.mark.parametrize("code", sorted(checks()))
def test_a_good_reading_lies_inside_its_limit(code: str) -> None:
    bench = Bench(np.random.default_rng(1))

    for unit in UNITS:
        if code == "cable_coding" and unit["connector"] != "type_2":
            continue
        for _ in range(40):
            reading = {"check": code} | bench.good(checks()[code], unit)
            assert judged(reading, unit), (reading, unit)


@pytest.mark.parametrize("mode", [mode for mode in ALL_MODES if mode not in OUTSIDE])
def test_a_confirmed_mode_has_a_reading_outside_its_limit(mode: str) -> None:
    # Named by the table, or seen when the unit was opened.
    own = {step.check for step in confirming_steps().get(mode, ())}
    own.add("visual_inspection")
    for unit in fitting(mode):
        for seed in range(5):
            found = case_of(mode, unit, seed)
            failed = {row["check"] for row in found if not judged(row, unit)}
            assert failed, (mode, unit)
            assert failed <= own


@pytest.mark.parametrize("mode", sorted(OUTSIDE))
def test_a_unit_without_a_fault_passes_the_whole_protocol(mode: str) -> None:
    for unit in UNITS:
        found = case_of(mode, unit, 1)
        assert all(judged(row, unit) for row in found)
        done = {row["check"] for row in found}
        assert {*GATE, "soak", "pilot_duty", "path_resistance"} <= done


@pytest.mark.parametrize("mode", ALL_MODES)
def test_the_unit_is_proved_dead_first_and_live_checks_follow_the_gate(
    mode: str,
) -> None:
    for unit in fitting(mode):
        for seed in range(5):
            state: dict[tuple[str, str], bool] = {}
            for row in case_of(mode, unit, seed):
                place = (row["check"], row.get("point") or "")
                if row["check"] != "settings_and_log":
                    assert state or row["check"] == "proved_dead"
                if row["check"] in LIVE:
                    assert gate_open(state, unit), (mode, row)
                if row["check"] == "insulation_resistance":
                    assert state.get(("earth_continuity", ""), False) or state.get(
                        ("earth_continuity", "metal"), False
                    )
                state[place] = judged(row, unit)
                if not place[1]:  # an outcome without a point speaks for all
                    for other in [key for key in state if key[0] == place[0]]:
                        state[other] = state[place]


def gate_open(state: dict[tuple[str, str], bool], unit: dict[str, Any]) -> bool:
    needed = {
        "proved_dead": ("",),
        "visual_inspection": ("",),
        "supply_wiring": ("",),
        "earth_continuity": ("handle", "metal"),
        "insulation_resistance": ("supply-PE", "handle-PE", "handle-handle"),
        "contactor_open": lines(unit),
    }
    return all(
        state.get((check, ""), False)
        or all(state.get((check, point), False) for point in points)
        for check, points in needed.items()
    )


def test_live_checks_are_marked_live() -> None:
    assert {code for code, check in checks().items() if check.live} == LIVE


def test_times_of_a_case_run_forward_and_differ() -> None:
    for mode in ALL_MODES:
        unit = fitting(mode)[0]
        times = [row["taken_at"] for row in case_of(mode, unit, 2)]
        assert times == sorted(times)
        assert len(set(times)) == len(times)


def test_open_cases_hold_intake_readings_only() -> None:
    late = scenario.LAST_DAY + dt.timedelta(days=9)
    days = {"received": scenario.LAST_DAY, "confirmed": late, "closed": late}
    protocol = Protocol(np.random.default_rng(1))

    found = protocol.readings({"case_id": "W-1"}, UNITS[0], "fuse_open", days)

    assert {row["stage"] for row in found} == {"intake"}


def test_every_code_of_the_scenario_is_in_the_catalogue() -> None:
    laws = scenario.mode_laws()
    used = {
        "symptoms": {word for law in laws for part in law.variants for word in part},
        "findings": {word for law in laws for word in law.findings},
        "charger_error_codes": {word for law in laws for word in law.error_words},
        "mechanisms": {word for law in laws for word in law.mechanisms},
        "cause_categories": {word for law in laws for word in law.causes},
        "environments": set(scenario.ENVIRONMENTS),
        "duties": set(scenario.DUTIES),
    }

    assert {law.mode for law in laws} <= set(catalogue.failure_modes())
    for kind, words in used.items():
        assert words <= set(catalogue.codes(kind)), kind


def test_failures_and_live_checks_are_those_of_the_catalogue() -> None:
    for law in scenario.mode_laws():
        assert law.is_failure == catalogue.failure_modes()[law.mode].is_failure
    for code, check in checks().items():
        assert check.live == (catalogue.checks()[code].hazard == "live"), code


def test_each_mode_is_confirmed_by_a_check_that_confirms_it_in_the_catalogue() -> None:
    confirming = {
        (row.mode, row.check) for row in catalogue.check_modes() if row.confirms
    }

    for mode, steps in confirming_steps().items():
        out = {step.check for step in steps if step.value not in {"good", "pass"}}
        assert any((mode, check) in confirming for check in out), mode
