"""Who could have failed when, counted by hand from a few rows."""

import datetime as dt
import shutil

import duckdb
import pytest

from analytics.rollup.watch_input import AGE_EDGES, watch_input
from ingest import catalogue
from tests.small_fleet import case, published, unit

AS_OF = dt.date(2025, 4, 15)
NOT_FAILURES = [
    mode.code for mode in catalogue.failure_modes().values() if not mode.is_failure
]


@pytest.fixture
def read(tmp_path):
    def found(units, cases, *, as_of=AS_OF, in_warranty=False, delay=0):
        folder = tmp_path / "data"
        published(folder, units, cases, as_of=as_of)
        file = next((folder / "published").glob("*.duckdb"))
        copy = shutil.copy(file, tmp_path / "copy.duckdb")
        with duckdb.connect(str(copy)) as connection:
            return watch_input(
                connection,
                {"not_failures": NOT_FAILURES, "seen_in_warranty": in_warranty},
                as_of=as_of,
                assumed_delay_days=delay,
            )

    return found


def days(found):
    """Return unit-days by month and age band."""
    fleet = found.fleet
    return {
        (f"{found.month(look):%Y-%m}", int(age)): float(exposure)
        for look, age, exposure in zip(
            fleet.look, fleet.age, fleet.exposure, strict=True
        )
    }


def failed(case_id, serial, day, **fields):
    known = {"confirmed_mode": "handle_pilot_open", "received_on": day}
    return case(case_id, serial, failed_on=day, **(known | fields))


def test_days_in_service_by_month_and_age(read):
    units = [unit("U1A", in_service_on="2025-01-10")]
    units += [unit("U2A", in_service_on="2025-01-10")]
    found = read(units, [failed("R1", "U1A", "2025-03-05")])
    # 30 days from 10 January on, then 61 more to an age of 91 days; the day of the
    # failure is one on which it could happen, and so counts.
    assert days(found) == {
        ("2025-01", 0): 44,
        ("2025-02", 0): 16,
        ("2025-02", 1): 40,
        ("2025-03", 1): 36,
        ("2025-04", 1): 10,
        ("2025-04", 2): 5,
    }
    fleet = found.fleet
    assert [found.month(look) for look in fleet.failure_look] == [dt.date(2025, 3, 1)]
    assert list(fleet.failure_age) == [1]
    assert found.modes == ("handle_pilot_open",)
    assert list(found.failures["case_id"]) == ["R1"]


def test_a_unit_that_fails_on_its_first_day_could_fail_that_day(read):
    found = read(
        [unit("U1A", in_service_on="2025-01-10")], [failed("R1", "U1A", "2025-01-10")]
    )
    assert days(found) == {("2025-01", 0): 1}
    assert len(found.failures) == 1


def test_an_open_case_ends_the_days_and_is_no_failure(read):
    found = read(
        [unit("U1A", in_service_on="2025-01-10")],
        [failed("R1", "U1A", "2025-01-20", confirmed_mode="")],
    )
    assert days(found) == {("2025-01", 0): 11}
    assert found.failures.empty


def test_a_return_that_is_no_failure_changes_nothing(read):
    found = read(
        [unit("U1A", in_service_on="2025-04-10")],
        [failed("R1", "U1A", "2025-04-11", confirmed_mode="no_fault_found")],
    )
    assert days(found) == {("2025-04", 0): 6}
    assert found.failures.empty


def test_only_the_first_failure_of_a_unit_counts(read):
    found = read(
        [unit("U1A", in_service_on="2025-04-01")],
        [failed("R1", "U1A", "2025-04-02"), failed("R2", "U1A", "2025-04-09")],
    )
    assert days(found) == {("2025-04", 0): 2}
    assert list(found.failures["case_id"]) == ["R1"]


def test_days_begin_after_registration_and_end_with_retirement(read):
    found = read(
        [
            unit(
                "U1A",
                in_service_on="2025-04-01",
                registered_on="2025-04-05",
                retired_on="2025-04-12",
            )
        ],
        [],
    )
    assert days(found) == {("2025-04", 0): 7}  # 6 to 12 April


def test_a_unit_registered_on_its_first_day_could_fail_that_day(read):
    found = read(
        [unit("U1A", in_service_on="2025-04-10", registered_on="2025-04-10")],
        [failed("R1", "U1A", "2025-04-10")],
    )
    assert days(found) == {("2025-04", 0): 1}
    assert list(found.failures["case_id"]) == ["R1"]


def test_a_unit_whose_first_day_is_estimated_works_on_until_it_fails(read):
    # The first, shipped over a year ago, was ten days on its way: so are the others.
    units = [
        unit("U1A", shipped_on="2024-01-01", in_service_on="2024-01-11"),
        unit("U2A", shipped_on="2025-03-22", in_service_on=""),
        unit("U3A", shipped_on="2025-03-22", in_service_on=""),
    ]
    units[0]["retired_on"] = "2024-01-11"
    found = read(units, [failed("R1", "U2A", "2025-03-25")])
    # From 1 April on: fifteen days of the one that works, one of that which failed
    # before its estimated first day and so counts as failed on it.
    assert days(found) == {("2024-01", 0): 1, ("2025-04", 0): 16}
    assert list(found.fleet.failure_age) == [0]


def test_failures_seen_in_warranty_alone_end_the_days_with_the_term(read):
    units = [unit("U1A", in_service_on="2025-01-10", warranty_months=1)]
    found = read(units, [failed("R1", "U1A", "2025-03-05")], in_warranty=True)
    assert days(found) == {("2025-01", 0): 22, ("2025-02", 0): 8, ("2025-02", 1): 2}
    assert found.failures.empty


def test_months_between_without_any_unit_hold_nothing(read):
    units = [
        unit("U1A", in_service_on="2025-01-30", retired_on="2025-01-31"),
        unit("U2A", in_service_on="2025-04-14", model="Model B"),
    ]
    found = read(units, [])
    assert days(found) == {("2025-01", 0): 2, ("2025-04", 0): 2}
    assert found.fleet.n_looks == 4


def test_kinds_tell_units_apart_and_keep_what_is_not_recorded(read):
    units = [
        unit("U1A", cable_supplier="Ostrel"),
        unit("U2A", cable_supplier="Ostrel"),
        unit("U3A"),
    ]
    found = read(units, [])
    kinds = {row.cable_supplier: row.n_units for row in found.kinds.itertuples()}
    assert kinds == {"Ostrel": 2, None: 1}


def test_the_last_month_is_as_complete_as_the_assumed_delay_lets_it(read):
    # Of the fifteen days of April to the 15th, those before the 6th are ten days back.
    found = read([unit("U1A", in_service_on="2025-01-10")], [], delay=10)
    assert found.completeness == pytest.approx([1, 1, 1, 5 / 15])
    assert days(found)["2025-04", 1] == pytest.approx(10 * 5 / 15)


def test_a_register_without_a_unit_in_service_is_nothing_to_watch(read):
    assert read([unit("U1A", in_service_on="")], []) is None


def test_ages_reach_from_new_to_older_than_any_charger():
    assert AGE_EDGES[0] == 0
    assert list(AGE_EDGES) == sorted(AGE_EDGES)
    assert AGE_EDGES[-1] > 100 * 365
