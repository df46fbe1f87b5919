"""Judging a reading by the unit's own limit."""

import math

import pandas as pd
import pytest

from analytics.advice.judging import FIELDS, limits_of
from analytics.advice.readings import evaluate_reading, expected_window
from ingest.catalogue import checks


def judged(check, value, unit=None, *, stage="diagnosis", **context):
    return evaluate_reading(check, value, unit, stage=stage, context=context)


FIXED = [
    ("fuse_continuity", 0.2, "ohm", "pass"),
    ("fuse_continuity", 1.01, "ohm", "fail"),
    ("insulation_resistance", 1.0, "Mohm", "pass"),
    ("insulation_resistance", 0.99, "Mohm", "fail"),
    ("pilot_continuity", 1.2, "ohm", "fail"),
    ("pilot_insulation", 800, "kohm", "fail"),
    ("line_continuity", 300, "mohm", "pass"),
    ("line_continuity", 0.31, "ohm", "fail"),
    ("contact_resistance", 5.1, "mohm", "fail"),
    ("contactor_close", 4.9, "mohm", "pass"),
    ("proximity_latch_at_rest", 165, "ohm", "pass"),
    ("proximity_latch_at_rest", 480, "ohm", "fail"),
    ("proximity_latch_pressed", 150, "ohm", "fail"),
    ("temperature_sensor_offset", -3.2, "°C", "fail"),
    ("standing_leakage", 3500, "uA", "pass"),
    ("dc_trip_time", 10.1, "s", "fail"),
    ("current_reading", -5, "%", "pass"),
    ("energy_reading", 2.1, "%", "fail"),
    ("handle_temperature_rise", 50, "K", "pass"),
    ("handle_temperature_rise", 91, "°F", "fail"),
]


@pytest.mark.parametrize(("check", "value", "unit", "outcome"), FIXED)
def test_a_reading_is_judged_against_a_fixed_limit(check, value, unit, outcome):
    assert judged(check, value, unit).outcome == outcome


@pytest.mark.parametrize(
    ("ohm", "outcome"),
    [
        (0.3, "fail"),
        (9.99, "fail"),
        (10, "undefined"),
        (500_000, "undefined"),
        (1_000_000, "pass"),
        ("OL", "pass"),
        (">2000", "undefined"),
        (">2000000", "pass"),
        ("<5", "fail"),
    ],
)
def test_an_open_contactor_is_welded_undefined_or_good(ohm, outcome):
    found = judged("contactor_open", ohm, "ohm")
    assert found.outcome == outcome
    assert math.isnan(found.probability_of_fail) == (outcome == "undefined")


def test_a_model_with_sensing_across_its_contacts_has_its_own_limit():
    assert (
        judged("contactor_open", 450, "kohm", contactor_open_ohm=400_000).outcome
        == "pass"
    )


def test_a_models_value_that_would_let_a_welded_pole_pass_is_refused():
    with pytest.raises(ValueError, match="would let a welded pole pass"):
        judged("contactor_open", 20, "ohm", contactor_open_ohm=8)


def test_earth_limit_grows_with_length_and_falls_with_area():
    # 0.1 ohm + 10 m x 17.24 mohm mm2/m / 2.5 mm2 = 0.169 ohm.
    window = expected_window(
        "earth_continuity", {"cable_length_m": 10, "earth_area_mm2": 2.5}
    )
    assert window.high == pytest.approx(0.169, abs=5e-4)
    assert window.assumed == ()


def test_earth_limit_without_length_and_area_takes_5_m_of_the_smallest_and_says_so():
    found = judged("earth_continuity", 0.15, "ohm")
    assert found.high == pytest.approx(0.1 + 5 * 0.0083)
    assert found.outcome == "fail"
    assert "cable length not recorded, 5 m taken" in found.meaning
    assert "earth area not recorded, 8.3 mohm/m taken" in found.meaning


def test_thin_earth_conductors_keep_to_the_older_limit_where_it_is_stricter():
    # 0.1 + 10 x 17.24 / 0.5 = 0.445 ohm; VDE 0701-0702: 0.3 to 5 m + 0.1 = 0.4 ohm.
    window = expected_window(
        "earth_continuity", {"cable_length_m": 10, "earth_area_mm2": 0.5}
    )
    assert window.high == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("flexed", "outcome"), [(0.10, "pass"), (0.13, "fail"), (0.07, "fail")]
)
def test_an_earth_path_that_moves_when_flexed_fails_inside_its_limit(flexed, outcome):
    found = judged(
        "earth_continuity", flexed, "ohm", condition="flexed", still_ohm=0.10
    )
    assert found.outcome == outcome


def test_an_earth_path_at_rest_is_not_compared_with_itself():
    found = judged("earth_continuity", 0.13, "ohm", condition="still", still_ohm=0.10)
    assert found.outcome == "pass"


@pytest.mark.parametrize(
    ("others", "outcome"),
    [([18.0, 18.5], "fail"), ((20.0,), "pass"), ([], "pass"), (None, "pass")],
)
def test_a_pole_unlike_the_others_fails_inside_its_limit(others, outcome):
    # 5.5 m of 10 AWG passes up to 22.7 mohm; 20 % above 18 is 21.6 mohm.
    context = {"cable_length_m": 5.5, "conductor_area_mm2": 5.261}
    context["other_poles_mohm"] = others
    assert judged("path_resistance", 22, "mohm", **context).outcome == outcome


@pytest.mark.parametrize(("value", "outcome"), [(21, "undefined"), (22, "fail")])
def test_a_pole_of_unknown_size_fails_only_against_the_others(value, outcome):
    found = judged("path_resistance", value, "mohm", other_poles_mohm=[18.0])
    assert found.outcome == outcome
    assert "against the other poles at most 21.6 mohm" in found.meaning


def test_path_resistance_without_area_or_length_is_undefined():
    found = judged("path_resistance", 20, "mohm", cable_length_m=5)
    assert found.outcome == "undefined"
    assert (found.low, found.high) == (None, None)
    assert "cable length or conductor area not recorded" in found.meaning


@pytest.mark.parametrize(
    ("point", "ohm", "outcome"),
    [
        ("CP", 0.9, "pass"),
        ("CP", 1.1, "fail"),
        ("PE", 0.9, "fail"),
        ("PE", 0.1, "pass"),
        ("L1", 0.020, "pass"),
        ("L1", 0.030, "fail"),
        (None, 0.9, "fail"),
    ],
)
def test_a_core_alone_is_judged_by_what_it_carries(point, ohm, outcome):
    context = {"cable_length_m": 5.5, "conductor_area_mm2": 5.261, "point": point}
    assert judged("core_localisation", ohm, "ohm", **context).outcome == outcome


@pytest.mark.parametrize(
    ("value", "outcome"), [(0.02, "undefined"), (5, "fail"), ("OL", "fail")]
)
def test_a_power_core_of_unknown_size_can_only_fail(value, outcome):
    assert judged("core_localisation", value, "ohm", point="L1").outcome == outcome


@pytest.mark.parametrize(
    ("check", "key", "own", "good", "bad"),
    [
        ("control_supply_voltage", "control_supply_v", 12, 11.5, 11.3),
        ("contactor_coil", "coil_ohm", 500, 410, 390),
    ],
)
def test_the_models_own_value_sets_the_limit(check, key, own, good, bad):
    unit = checks()[check].unit
    assert judged(check, good, unit, **{key: own}).outcome == "pass"
    assert judged(check, bad, unit, **{key: own}).outcome == "fail"
    assert judged(check, good, unit).outcome == "undefined"


def test_an_open_coil_fails_whatever_the_model():
    assert judged("contactor_coil", "OL", "ohm").outcome == "fail"


@pytest.mark.parametrize(
    ("volts", "outcome"), [(235, "undefined"), (180, "fail"), (90, "fail")]
)
def test_supply_without_its_system_never_passes(volts, outcome):
    found = judged("supply_voltage", volts, "V", point="L1-N")
    assert found.outcome == outcome
    assert "supply system not recorded" in found.meaning


def test_supply_without_a_point_says_between_which_conductors_it_was_taken():
    found = judged("supply_voltage", 240, "V", supply_system=240.0)
    assert found.outcome == "pass"
    assert "line to line taken" in found.meaning


def test_duty_without_connector_takes_the_narrow_window_and_says_so():
    found = judged("pilot_duty", 54.5, "%", current_setting_a=32)
    assert found.outcome == "fail"
    assert "connector not recorded, 0.5 points taken" in found.meaning


@pytest.mark.parametrize(
    ("duty", "outcome"), [(40, "undefined"), (55, "fail"), (96, "fail")]
)
def test_duty_without_its_setting_fails_only_above_the_rated_current(duty, outcome):
    context = {"rated_current_a": 32, "connector": "type_1"}
    assert judged("pilot_duty", duty, "%", **context).outcome == outcome


def test_a_current_the_duty_law_does_not_cover_is_refused():
    with pytest.raises(ValueError, match="no duty for 5 A"):
        judged("pilot_duty", 10, "%", current_setting_a=5)


@pytest.mark.parametrize(
    ("rated", "ohm", "outcome"),
    [
        (16, 680, "pass"),
        (32, 680, "fail"),
        (None, 680, "undefined"),
        (None, 400, "fail"),
        (100, 100, "undefined"),
    ],
)
def test_coding_is_judged_by_the_rated_current(rated, ohm, outcome):
    found = judged("cable_coding", ohm, "ohm", rated_current_a=rated)
    assert found.outcome == outcome


@pytest.mark.parametrize(
    ("devices", "high"),
    [
        ("rcd_a_30;rdc_dd_6", 30),
        (["ccid20", "rcd_a_30"], 20),
        ("rdc_dd_6", 6),
        (None, 6),
    ],
)
def test_trip_current_takes_the_strictest_device_fitted(devices, high):
    found = judged("ground_fault_trip_current", 5, "mA", ground_fault_device=devices)
    assert found.high == high
    assert ("strictest taken" in found.meaning) == (high == 6)


def test_trip_time_without_test_current_or_device_takes_300_ms_and_says_so():
    found = judged("ground_fault_trip_time", 310, "ms")
    assert (found.outcome, found.high) == ("fail", 300)
    assert "test current not recorded" in found.meaning


@pytest.mark.parametrize(
    ("devices", "applies"),
    [({}, True), ("ccid20", False), ("rcd_a_30;rdc_dd_6", True)],
)
@pytest.mark.parametrize(
    ("check", "unit"), [("dc_trip_current", "mA"), ("dc_trip_time", "ms")]
)
def test_a_dc_trip_is_refused_where_no_device_detects_direct_current(
    check, unit, devices, applies
):
    context = {"ground_fault_device": devices} if devices else {}
    row = pd.DataFrame([dict.fromkeys(FIELDS) | context | {"check": check}])

    assert limits_of(row)["is_judged"].tolist() == [applies]
    if applies:
        found = evaluate_reading(check, 5, unit, stage="diagnosis", context=context)
        assert found.outcome == "pass"
    else:
        with pytest.raises(ValueError, match="without a device that detects"):
            evaluate_reading(check, 5, unit, stage="diagnosis", context=context)
