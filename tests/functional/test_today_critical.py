"""Which cases are critical, by hand: confirmed, or pointed to by a reading.

Which mode is critical and which checks are a gate: the catalogue. Limits of contactor
and trip: tests/published/test_limit_edges.py and tests/unit/test_limit_edges.py.
"""

import pytest

from dashboard.filters import Filters
from dashboard.queries.today_critical import (
    critical_cases,
    pointing_checks,
)
from ingest import catalogue
from tests.small_fleet import case, published, reading, unit

UNITS = [unit(f"U-{n:03}", connector="type_1") for n in range(6)]
WELDED = reading("R1", "contactor_open", point="L1", value="0.4", unit="ohm")


def found(tmp_path, cases, readings=()):
    snapshot = published(tmp_path, UNITS, cases, readings=readings)
    return critical_cases(snapshot, Filters())


def test_a_confirmed_critical_mode_is_critical_from_the_day_of_confirmation(tmp_path):
    cases = [
        case(
            "R1",
            "U-001",
            confirmed_mode="contactor_welded",
            confirmed_on="2025-06-09",
        ),
        case("R2", "U-002", confirmed_mode="fuse_open"),
        case("R3", "U-003"),
    ]

    (row,) = found(tmp_path, cases)

    assert (row["case_id"], row["mode"], row["why"]) == (
        "R1",
        "contactor_welded",
        "confirmed",
    )
    assert (row["since"], row["is_open"]) == ("2025-06-09", True)
    assert row["says"] == catalogue.failure_modes()["contactor_welded"].definition


def test_an_open_case_is_critical_by_the_reading_of_a_gate_check(tmp_path):
    (row,) = found(tmp_path, [case("R1", "U-001")], [WELDED])

    assert (row["mode"], row["confirmed_mode"]) == ("contactor_welded", None)
    assert row["why"] == (
        "reading of Contactor open failed at L1: 0.4 ohm; expected at least "
        "1 000 000 ohm"
    )
    assert (row["check"], row["value"], row["unit"]) == ("contactor_open", "0.4", "ohm")
    assert (row["low"], row["high"]) == (1_000_000.0, None)
    assert row["since"] == "2025-06-02"
    assert "isolated" in row["to_do"]
    assert "Confirm on the bench" in row["to_do"]


@pytest.mark.parametrize(
    ("later", "is_critical"),
    [
        ({"point": "L1", "value": "2000000"}, False),
        ({"point": "L2", "value": "2000000"}, True),
        ({"point": "L1", "value": "2000000", "condition": "flexed"}, True),
        ({"point": "L1", "value": "500"}, False),
        ({"outcome": "pass", "unit": ""}, False),
    ],
    ids=["same point", "another point", "flexed only", "neither", "all points"],
)
def test_only_a_later_reading_of_point_and_condition_takes_it_back(
    tmp_path, later, is_critical
):
    # An open contactor at 500 ohm is neither welded nor good: it stays shut, undefined.
    second = reading(
        "R1", "contactor_open", unit="ohm", taken_at="2025-06-03", stage="diagnosis"
    )

    rows = found(tmp_path, [case("R1", "U-001")], [WELDED, second | later])

    assert bool(rows) is is_critical


def test_a_pass_after_the_repair_ends_it_and_a_pass_at_intake_before_does_not(tmp_path):
    cases = [case("R1", "U-001"), case("R2", "U-002")]
    good = {"point": "L1", "value": "2000000", "unit": "ohm"}
    readings = [
        WELDED,
        reading("R1", "contactor_open", stage="after_repair", **good),
        reading("R2", "contactor_open", stage="intake", **good),
        reading("R2", "contactor_open", point="L1", value="0.4", unit="ohm"),
    ]

    assert [row["case_id"] for row in found(tmp_path, cases, readings)] == ["R2"]


def test_a_trip_above_its_window_is_critical_and_one_below_it_a_nuisance(tmp_path):
    units = [unit(f"U-{n:03}", ground_fault_device="ccid20") for n in range(4)]
    cases = [case("R1", "U-001"), case("R2", "U-002"), case("R3", "U-003")]
    trip = "ground_fault_trip_current"
    readings = [
        reading("R1", trip, value="45", unit="mA"),
        reading("R2", trip, value="9", unit="mA"),
        reading("R3", trip, outcome="fail"),
    ]
    snapshot = published(tmp_path, units, cases, readings=readings)

    rows = critical_cases(snapshot, Filters())

    # An outcome alone does not say on which side: it counts.
    assert {row["case_id"]: row["mode"] for row in rows} == {
        "R1": "ground_fault_no_trip",
        "R3": "ground_fault_no_trip",
    }


def test_a_check_outside_the_gate_points_to_nothing_at_once(tmp_path):
    readings = [reading("R1", "contact_resistance", value="30", unit="mohm")]

    assert found(tmp_path, [case("R1", "U-001")], readings) == []


def test_a_check_that_points_to_several_names_all_and_settles_on_none(tmp_path):
    readings = [reading("R1", "earth_continuity", point="handle", outcome="fail")]

    (row,) = found(tmp_path, [case("R1", "U-001")], readings)

    assert row["mode"] is None
    assert row["points_to"] == "handle_earth_open; cable_earth_open"
    assert row["label"].startswith("may be: ")


def test_a_confirmed_mode_explains_the_reading_that_confirms_it_and_no_other(tmp_path):
    cases = [
        case("R1", "U-001", confirmed_mode="enclosure_water_ingress"),
        case("R2", "U-002", confirmed_mode="fuse_open"),
    ]
    readings = [
        reading(name, "visual_inspection", outcome="fail") for name in ("R1", "R2")
    ]

    (row,) = found(tmp_path, cases, readings)

    assert (row["case_id"], row["confirmed_mode"]) == ("R2", "fuse_open")
    assert row["mode"] is None


def test_every_gate_and_trip_check_that_confirms_a_critical_mode_points_to_it():
    assert set(pointing_checks()) == {
        *("earth_continuity", "visual_inspection", "insulation_resistance"),
        *("supply_wiring", "contactor_open"),
        *("ground_fault_trip_current", "ground_fault_trip_time"),
        *("dc_trip_current", "dc_trip_time"),
    }


def test_the_latest_to_become_critical_stands_first(tmp_path):
    cases = [
        case(f"R{n}", f"U-{n:03}", confirmed_mode="contactor_welded", confirmed_on=day)
        for n, day in ((1, "2025-06-09"), (2, "2025-08-01"), (3, "2025-07-01"))
    ]

    assert [row["case_id"] for row in found(tmp_path, cases)] == ["R2", "R3", "R1"]


def test_filters_choose_the_cases(tmp_path):
    cases = [case("R1", "U-001"), case("R2", "U-002", confirmed_mode="supply_miswired")]
    snapshot = published(tmp_path, UNITS, cases, readings=[WELDED])

    def chosen(**words):
        rows = critical_cases(snapshot, Filters.of(words))
        return [row["case_id"] for row in rows]

    assert sorted(chosen(model="Model A")) == ["R1", "R2"]
    assert chosen(model="Model B") == []
    assert chosen(mode="supply_miswired") == ["R2"]
