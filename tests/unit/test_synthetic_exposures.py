"""What an invented fleet is counted against: shipments, plans, use and d.c. trips."""

import datetime as dt
from typing import Any

import numpy as np
import pytest

from ingest import catalogue
from synthetic_data import exposures, scenario
from synthetic_data.bench import Protocol
from synthetic_data.dc_trip import DcTrip
from synthetic_data.fleet import Fleet, draw_fleet
from synthetic_data.register import unit_rows

Row = dict[str, Any]
LAST_MONTH = "2026-06"


@pytest.fixture(scope="module")
def fleet() -> Fleet:
    return draw_fleet(4000, 5)


@pytest.fixture(scope="module")
def units(fleet: Fleet) -> list[Row]:
    return unit_rows(fleet.register, fleet.retired, np.random.default_rng(1))


@pytest.fixture(scope="module")
def shipments(units: list[Row]) -> list[Row]:
    return exposures.shipment_rows(units)


@pytest.fixture(scope="module")
def used(fleet: Fleet, units: list[Row]) -> list[Row]:
    return exposures.usage_rows(
        fleet.register,
        fleet.events,
        fleet.retired.tolist(),
        units,
        np.random.default_rng(2),
    )


def test_shipments_add_up_to_the_units_that_left(
    units: list[Row], shipments: list[Row]
) -> None:
    left = [row for row in units if row["shipped_on"]]
    one = left[0]
    same = [
        row
        for row in left
        if (row["model"], row["production_lot"], row["region"])
        == (one["model"], one["production_lot"], one["region"])
        and (row["shipped_on"].year, row["shipped_on"].month)
        == (one["shipped_on"].year, one["shipped_on"].month)
    ]

    assert sum(row["quantity"] for row in shipments) == len(left)
    (found,) = [
        row["quantity"]
        for row in shipments
        if row["shipped_month"] == one["shipped_on"].isoformat()[:7]
        and row["production_lot"] == one["production_lot"]
        and row["region"] == one["region"]
    ]
    assert found == len(same)


def test_plans_are_for_the_twelve_months_after_the_last_day_near_last_year_s_sales(
    shipments: list[Row],
) -> None:
    planned = exposures.planned_rows(shipments, np.random.default_rng(3))

    months = {row["month"] for row in planned}
    assert (len(months), min(months), max(months)) == (12, "2026-07", "2027-06")
    sold = sum(
        row["quantity"]
        for row in shipments
        if "2025-07" <= row["shipped_month"] <= LAST_MONTH
    )
    assert 0.8 * sold < sum(row["quantity"] for row in planned) < 1.4 * sold


def test_about_a_twentieth_of_the_units_is_metered(used: list[Row]) -> None:
    # 5 % of 4000 are 200, standard deviation 14; some are not in service yet.
    assert 140 < len({row["serial"] for row in used}) < 260


def test_use_lies_between_service_and_end_and_inside_what_a_month_holds(
    fleet: Fleet, units: list[Row], used: list[Row]
) -> None:
    index = {row["serial"]: place for place, row in enumerate(units)}
    for row in used:
        unit = index[row["serial"]]
        first = dt.date.fromordinal(int(fleet.register.in_service[unit]))
        last = min(int(fleet.retired[unit]), scenario.LAST_DAY.toordinal())
        assert first.isoformat()[:7] <= row["month"]
        assert row["month"] <= dt.date.fromordinal(last).isoformat()[:7]
        assert 0 <= row["connected_hours"] <= 744
        assert (row["sessions"] == 0) == (row["energy_kwh"] == 0)


def test_each_unit_and_month_is_told_once(used: list[Row]) -> None:
    keys = [(row["serial"], row["month"]) for row in used]

    assert len(set(keys)) == len(keys)


def test_a_unit_in_the_workshop_all_month_long_was_not_used(
    fleet: Fleet, units: list[Row], used: list[Row]
) -> None:
    told = {(row["serial"], row["month"]) for row in used}
    metered = {serial for serial, _ in told}
    away = 0
    for unit, failed, closed in zip(
        fleet.events.unit, fleet.events.failed, fleet.events.closed, strict=True
    ):
        serial = units[unit]["serial"]
        month = exposures.month_after(dt.date.fromordinal(int(failed)))
        end = exposures.month_after(month).toordinal() - 1
        if serial in metered and closed >= end:
            away += 1
            assert (serial, month.isoformat()[:7]) not in told

    assert away > 0


CASE = {"case_id": "W-000001", "disposition": "returned_as_found"}
DAYS = {
    "received": dt.date(2025, 3, 3),
    "confirmed": dt.date(2025, 3, 10),
    "closed": dt.date(2025, 3, 12),
}


@pytest.mark.parametrize(
    ("mode", "device", "n_added"),
    [
        ("no_fault_found", "rcd_a_30;rdc_dd_6", 2),
        ("vehicle_side_fault", "rcd_a_30;rdc_dd_6", 2),
        ("no_fault_found", "rcd_a_30", 0),
        ("no_fault_found", "ccid20", 0),
        ("fuse_open", "rcd_a_30;rdc_dd_6", 0),
    ],
)
def test_units_that_tell_d_c_apart_are_tripped_with_d_c_where_all_else_was_done(
    units: list[Row], mode: str, device: str, n_added: int
) -> None:
    unit = next(row for row in units if row["connector"] == "type_2")
    unit = unit | {"ground_fault_device": device}
    rows = Protocol(np.random.default_rng(1)).readings(CASE, unit, mode, DAYS)

    added = DcTrip(np.random.default_rng(2)).readings(rows, unit, mode)

    assert len(added) == n_added
    for row in added:
        check = catalogue.checks()[row["check"]]
        # IEC 62955, secondary reading: above 3 to 6 mA, at most 10 s.
        assert check.hazard == "live"
        assert (check.low or 0) < float(row["value"]) <= (check.high or 0)
    times = [row["taken_at"] for row in [*rows, *added]]
    assert times == sorted(set(times))


def test_an_open_case_has_no_d_c_trip_yet(units: list[Row]) -> None:
    unit = next(row for row in units if row["connector"] == "type_2")
    rows = [{"stage": "intake", "case_id": "W-1", "taken_at": "2025-03-03T08:00"}]

    found = DcTrip(np.random.default_rng(2)).readings(rows, unit, "no_fault_found")

    assert found == []
