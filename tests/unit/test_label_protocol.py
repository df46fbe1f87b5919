"""The whole protocol behind "no fault found", and units that come back.

What the protocol asks for: common practice, no source.
"""

import datetime as dt

import pytest

from analytics.advice import label_support
from ingest import catalogue
from tests.judged_cases import DAY, FLEXED, UNIT, judged_tables, support_of, table
from tests.judged_cases import typed as r


def whole_protocol(*, without=()):
    steps = [step for step in catalogue.protocol() if step.only_for is None]
    return [
        r(step.check, "pass", **(FLEXED if step.flexed else {}))
        for step in steps
        if catalogue.checks()[step.check].connector in (None, "type_1")
        and step.check not in without
    ]


def test_the_whole_protocol_backs_no_fault_found():
    support, _, _, words = support_of("no_fault_found", *whole_protocol())

    assert (support, words) == ("backed", "the whole protocol passed")


@pytest.mark.parametrize("left_out", ["proved_dead", "path_resistance", "pilot_duty"])
def test_a_protocol_with_a_gap_does_not(left_out):
    readings = whole_protocol(without={left_out})

    assert support_of("no_fault_found", *readings)[0] == "unbacked"


def test_the_pilot_is_read_at_the_board_or_at_the_handle():
    one = whole_protocol(without={"pilot_voltage_handle"})
    none = whole_protocol(without={"pilot_voltage_handle", "pilot_voltage_terminals"})

    assert support_of("no_fault_found", *one)[0] == "backed"
    assert support_of("no_fault_found", *none)[0] == "unbacked"


def test_a_duty_is_enough_that_cannot_be_judged_without_its_setting():
    readings = [*whole_protocol(without={"pilot_duty"}), r("pilot_duty", "30 %")]

    assert support_of("no_fault_found", *readings)[0] == "backed"


def test_what_comes_and_goes_needs_the_soak():
    readings = whole_protocol()
    symptoms = "charge_stops_early; offline"

    short = support_of("no_fault_found", *readings, symptoms=symptoms)
    soaked = support_of(
        "no_fault_found", *readings, r("soak", "pass"), symptoms=symptoms
    )

    assert (short[0], soaked[0]) == ("unbacked", "backed")


def test_a_fault_of_the_vehicle_needs_the_charge_test():
    readings = whole_protocol()

    assert support_of("vehicle_side_fault", *readings)[0] == "unbacked"
    charged = support_of("vehicle_side_fault", *readings, r("charge_test", "pass"))
    assert charged[0] == "backed"


def test_a_direct_current_device_needs_its_own_trip():
    unit = UNIT | {"ground_fault_device": "rcd_a_30;rdc_dd_6"}
    readings = whole_protocol()

    assert support_of("no_fault_found", *readings, unit=unit)[0] == "unbacked"
    trip = r("dc_trip_current", "5 mA")
    assert support_of("no_fault_found", *readings, trip, unit=unit)[0] == "backed"


def returned(*, after_days, symptoms="offline", versions=(), **first):
    closed = DAY + dt.timedelta(days=10)
    cases = [
        {
            "case_id": "C1", "serial": "U-1", "mode": "meter_fault",
            "symptoms": "offline;meter_wrong", "received_on": DAY,
            "confirmed_on": DAY, "closed_on": closed,
        } | first,
        {
            "case_id": "C2", "serial": "U-1", "symptoms": symptoms,
            "received_on": closed + dt.timedelta(days=after_days),
        },
    ]  # fmt: skip
    found = judged_tables(units=[UNIT], cases=cases, versions=versions)
    return table(found, "label_support").iloc[0]


@pytest.mark.parametrize(("after_days", "support"), [(90, "doubted"), (91, "unbacked")])
def test_back_within_90_days_with_the_same_symptom_is_doubted(after_days, support):
    assert returned(after_days=after_days)["support"] == support


def test_the_return_is_named():
    assert returned(after_days=12)["words"] == (
        "back after 12 days with offline (case C2)"
    )


@pytest.mark.parametrize("symptoms", ["burning_smell", "none_reported", None])
def test_another_symptom_or_none_raises_no_doubt(symptoms):
    found = returned(after_days=5, symptoms=symptoms)

    assert found["support"] == "unbacked"


def test_a_label_confirmed_after_the_return_is_renewed():
    again = DAY + dt.timedelta(days=16)

    assert returned(after_days=5, confirmed_on=again)["support"] == "unbacked"


def version(case_id, batch, mode):
    return {
        "case_id": case_id,
        "batch": batch,
        "confirmed_mode": mode,
        "confirmed_on": DAY,
    }


def test_a_label_changed_after_the_return_came_in_is_renewed():
    back = version("C2", 2, None)
    changed = [version("C1", 1, "reader_fault"), back, version("C1", 3, "meter_fault")]
    as_before = [version("C1", 1, "meter_fault"), back, version("C1", 3, "meter_fault")]

    assert returned(after_days=5, versions=changed)["support"] == "unbacked"
    assert returned(after_days=5, versions=as_before)["support"] == "doubted"


def test_weights_are_as_stated():
    supports = ["backed", "unbacked", "doubted", "contradicted", None]

    assert label_support.weight_of(supports) == [1.0, 0.5, 0.5, 0.0, 1.0]
