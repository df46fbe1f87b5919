"""The check x mode table for one unit, and the order it gives."""

import math

import pytest

from analytics.advice.check_table import (
    COLUMNS,
    applies,
    check_hazard,
    default_check_table,
)
from analytics.advice.first_check import next_check
from ingest.catalogue import checks

GATE = [check.code for check in checks().values() if check.gate]
PASSED = dict.fromkeys(GATE, "pass")


def names(listed):
    return [item.check for item in listed]


def test_the_default_table_holds_every_check_with_the_agreed_columns():
    whole = default_check_table({})
    assert list(whole.columns) == list(COLUMNS)
    assert set(whole["check"]) == set(checks())
    assert set(whole.loc[whole["gate"], "check"]) == set(GATE)
    assert not whole.duplicated(["check", "cause"]).any()


@pytest.mark.parametrize(
    ("connector", "absent"),
    [
        ("type_1", {"cable_coding"}),
        ("type_2", {"proximity_latch_at_rest", "proximity_latch_pressed"}),
    ],
)
def test_checks_of_the_other_connector_are_left_out(connector, absent):
    found = set(default_check_table({"connector": connector})["check"])
    assert set(checks()) - found == absent


@pytest.mark.parametrize(
    ("devices", "offered"),
    [(None, True), ("ccid20", False), ("rcd_a_30;rdc_dd_6", True)],
)
def test_a_d_c_trip_is_left_out_where_no_detector_is_fitted(devices, offered):
    context = {"ground_fault_device": devices}
    assert applies(checks()["dc_trip_current"], context) == offered


@pytest.mark.parametrize(
    ("coil_v", "hazard"),
    [
        (None, "live"),
        (12, "extra_low_voltage"),
        (50.0, "extra_low_voltage"),
        (51, "live"),
        (230, "live"),
        ("110 V d.c.", "extra_low_voltage"),
        ("110 V a.c.", "live"),
        ("125 V dc", "live"),
        ("24 V", "extra_low_voltage"),
        ("low", "live"),
        (math.nan, "live"),
        (0, "live"),
    ],
)
def test_closing_the_contactor_is_extra_low_voltage_only_where_its_coil_is(
    coil_v, hazard
):
    assert check_hazard("contactor_close", {"coil_v": coil_v}) == hazard
    rows = default_check_table({"coil_v": coil_v})
    assert set(rows.loc[rows["check"] == "contactor_close", "hazard"]) == {hazard}


def test_the_hazard_of_a_check_that_does_not_exist_is_refused():
    with pytest.raises(ValueError, match="no check is called 'colour'"):
        check_hazard("colour", {})


def test_a_pilot_break_is_looked_for_dead_and_first():
    chances = {"handle_pilot_open": 0.6, "cable_pilot_open": 0.2, "meter_fault": 0.2}
    rows = default_check_table({"connector": "type_1"})
    first = next_check(chances, rows)
    assert names(first)[:2] == ["proved_dead", "settings_and_log"]
    done = {"proved_dead": "pass"}
    then = next_check(chances, rows, done=done, proved_safe=True)
    assert then[0].check == "pilot_continuity"


def test_with_all_six_passed_and_the_unit_proved_dead_live_checks_come_into_the_list():
    rows = default_check_table({"connector": "type_2"})
    listed = next_check({"meter_fault": 1.0}, rows, done=PASSED, proved_safe=True)
    assert listed[0].check == "energy_reading"
    assert listed[0].minutes_before == 10
