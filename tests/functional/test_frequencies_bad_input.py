"""Rates and groups from poor records: answered in words, nothing distorted silently."""

import datetime as dt

import pytest

from dashboard.filters import Filters
from dashboard.queries.modes import modes
from ingest.pipeline import ingest_paths
from tests import small_fleet

PILOT = "handle_pilot_open"


def units_of(n, **fields):
    return [small_fleet.unit(f"A{i:03}", **fields) for i in range(n)]


def cases_of(serials, **fields):
    return [
        small_fleet.case(f"R{i}", serial, confirmed_mode=PILOT, **fields)
        for i, serial in enumerate(serials)
    ]


def shipped(folder, *rows):
    file = small_fleet.write_rows(folder / "shipments.csv", list(rows))
    assert ingest_paths(folder / "store.duckdb", [file]).exit_code == 0


def left(model, month, quantity, **fields):
    return {"model": model, "shipped_month": month, "quantity": quantity} | fields


def answered(folder, units, cases, **words):
    return modes(small_fleet.published(folder, units, cases), Filters.of(words))


def test_a_field_empty_for_half_of_the_units_is_said_and_a_group_of_its_own(tmp_path):
    units = units_of(6, cable_supplier="S1")
    units[:3] = [unit | {"cable_supplier": ""} for unit in units[:3]]

    more = answered(tmp_path, units, cases_of(["A000", "A005"])).more

    empty = next(r for r in more["groups"]["cable_supplier"] if r["value"] is None)
    assert (empty["n_units"], empty["n_failures"]) == (3, 1)
    assert any(
        "Cable supplier is not recorded for 3 of 6 units" in note
        for note in more["notes"]
    )


def test_two_times_without_a_case_are_not_called_unchanged(tmp_path):
    cases = cases_of(["A000"], received_on="2025-06-01")  # then six months of nothing

    change = answered(tmp_path, units_of(4), cases).more["change"]

    assert change["now"] == [dt.date(2025, 10, 1), dt.date(2025, 12, 31)]
    assert change["sentence"].startswith("Nothing to compare, no case was confirmed")


def test_failures_of_units_not_in_service_are_in_no_rate_of_a_month(tmp_path):
    units = units_of(4)
    units[1] |= {"in_service_on": "2025-07-01"}
    units[2] |= {"registered_on": "2025-06-20"}
    # One counts; one failed before its unit was in service, one before it was
    # registered, one is not in the register.
    cases = cases_of(["A000", "A001", "A002", "B999"])

    more = answered(tmp_path, units, cases).more

    june = more["months"][0]
    assert (june["month"], june["n_failures"], june["n_in_rate"]) == ("2025-06", 4, 1)
    # Two units for 30 days, and one from the day after it was registered.
    assert june["unit_years"] == pytest.approx((2 * 30 + 10) / 365.25)
    assert june["rate"] == pytest.approx(1000 / june["unit_years"])
    assert more["rates"][0]["n_cases"] == 1


def test_a_lot_spelled_in_two_ways_is_said_and_not_joined(tmp_path):
    units = units_of(6, production_lot="AB-100")
    units[:2] = [unit | {"production_lot": "AB 100"} for unit in units[:2]]

    more = answered(tmp_path, units, cases_of(["A000"])).more

    assert len(more["groups"]["lot"]) == 2
    assert any(
        "Production lot may be spelled in several ways" in note
        for note in more["notes"]
    )


def test_one_site_with_most_of_the_cases_is_named(tmp_path):
    units = units_of(6, site="Large Yard")
    units[5] |= {"site": "Small Yard"}

    more = answered(tmp_path, units, cases_of(["A000", "A001", "A005"])).more
    alone = answered(
        tmp_path, units, cases_of(["A000", "A001", "A005"]), site=["Large Yard"]
    ).more

    assert any(
        "One site has most of the cases: Large Yard, 2 of 3" in note
        for note in more["notes"]
    )
    assert not any("One site" in note for note in alone["notes"])


def test_less_than_a_year_on_record_is_said(tmp_path):
    more = answered(tmp_path, units_of(3), cases_of(["A000"])).more

    # From June, the month of the first return, to December.
    assert any("Only 7 complete months on record" in note for note in more["notes"])
    assert more["change"]["n_months"] == 3


def test_too_few_months_give_no_change_and_say_why(tmp_path):
    more = answered(
        tmp_path, units_of(3), cases_of(["A000"], received_on="2025-09-15")
    ).more

    assert more["change"]["rows"] == []
    assert "fewer than 3 complete months" in more["change"]["refused"]


def test_without_a_register_there_is_no_rate_and_shipments_give_one(tmp_path):
    shipped(
        tmp_path,
        left("Model S", "2024-01", 400),
        left("Model S", "2024-03", 100),
    )
    snapshot = small_fleet.published(
        tmp_path, units_of(2), cases_of(["B001", "B002", "B003"])
    )

    more = modes(snapshot, Filters()).more

    alone, together = more["shipped"]
    assert alone["rate"] is None
    assert "none is in the register" in alone["basis"]
    # Three returns of units not on record, over 500 shipped.
    assert together["rate"] == pytest.approx(6)
    assert together["n_cases"] == 3
    assert any("Model S 1 month" in note for note in more["notes"])
    other = modes(snapshot, Filters(model=("Model S",)))
    assert other.more["rates"] == []
    assert (
        "nobody knows how many were in service" in other.more["rate_basis"]["refused"]
    )


def test_a_register_of_few_of_the_shipped_gives_a_rate_per_shipped(tmp_path):
    shipped(
        tmp_path,
        left("Model A", "2024-12", 40, production_lot="L1"),
        left("Model A", "2024-12", 4, production_lot="L2"),
    )
    units = units_of(8, production_lot="L1")
    units[4:] = [unit | {"production_lot": "L2"} for unit in units[4:]]

    rows = answered(tmp_path, units, cases_of(["A000", "A007"])).more["shipped"]

    assert [(row["lot"], row["n_registered"]) for row in rows] == [("L1", 4), ("L2", 4)]
    assert rows[0]["rate"] == pytest.approx(1000 / 40)
    assert rows[0]["basis"] == "the register holds 4 of them"
    assert rows[1]["rate"] is None


def test_a_register_of_returned_units_gives_no_rate(tmp_path):
    more = answered(
        tmp_path, units_of(40), cases_of([f"A{i:03}" for i in range(40)])
    ).more

    assert more["rates"] == []
    assert "mainly units that came back" in more["rate_basis"]["refused"]
    assert more["change"]["refused"] == more["rate_basis"]["refused"]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"firmware_version": ["1.0"]}, "under a filter of firmware"),
        ({"from": "2026-01-01"}, "no day asked for lies in a complete month"),
        ({"to": "2025-01-31"}, "no day asked for lies in a complete month"),
    ],
)
def test_filters_that_leave_no_rate_say_why(tmp_path, words, why):
    units = units_of(3, firmware_version="1.0")

    more = answered(tmp_path, units, cases_of(["A000"]), **words).more

    assert why in more["rate_basis"]["refused"]
    assert more["ages"] == []


def test_a_failure_before_the_span_counts_where_its_unit_lived_in_it(tmp_path):
    units = units_of(3, in_service_on="2025-06-01")
    cases = cases_of(["A000"], received_on="2025-09-02", failed_on="2025-08-20")

    more = answered(tmp_path, units, cases, **{"from": "2025-09-01"}).more

    # Aged 80 days on the failure day, but 92 and more in the span.
    (row,) = [row for row in more["ages"] if row["n_failures"]]
    assert row["from_days"] == 90


def test_units_that_left_before_the_span_give_no_rate_and_are_counted(tmp_path):
    units = units_of(3, retired_on="2025-05-01")

    more = answered(tmp_path, units, cases_of(["A000"])).more

    assert "was in service in that time" in more["rate_basis"]["refused"]
    assert more["groups"]["model"] == []


def test_without_a_case_there_is_no_rate(tmp_path):
    small_fleet.published(tmp_path, units_of(2), [], as_of=dt.date(2026, 1, 1))
    more = answered(tmp_path, units_of(2), []).more

    assert more["rate_basis"]["refused"] == "No rate: no return is on record."
    assert more["months"] == more["shipped"] == []
