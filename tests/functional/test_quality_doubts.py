"""Data quality, what the data make one ask: counted by hand on a few units."""

import pytest

from analytics.rollup.publish import publish
from analytics.rollup.rules import LifeRules, ModelRules
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.quality import quality
from dashboard.queries.quality_doubts import (
    LATER_FAILURES,
    MAINLY_RETURNED,
    register,
    term_end,
    waiting,
)
from ingest.pipeline import ingest_paths
from tests import small_fleet
from tests.small_fleet import AS_OF, case, unit

SHORT = {"in_service_on": "2024-01-01", "warranty_months": 12}  # ends 2025-01-01


def failed(case_id, serial, day):
    return case(
        case_id, serial, failed_on=day, received_on=day, confirmed_on=day,
        confirmed_mode="handle_pilot_open",
    )  # fmt: skip


def test_failures_and_unit_days_beside_the_end_of_the_term_are_counted(tmp_path):
    units = [unit(f"A{n}00", **SHORT) for n in range(5)]
    units.append(unit("B100", in_service_on="2025-10-01", warranty_months=24))
    units.append(unit("C100", in_service_on="2024-01-01"))  # no term is known
    cases = [
        failed("R1", "A000", "2024-10-03"),  # 90 days before: just outside
        failed("R2", "A100", "2024-10-04"),  # the first day that counts
        failed("R3", "A200", "2025-01-01"),  # the last day of the term
        failed("R4", "A300", "2025-01-02"),  # the day after
    ]

    found = term_end(small_fleet.published(tmp_path, units, cases))

    assert (found["n_before"], found["n_after"]) == (2, 1)
    # A1 one day, A2, A3 and A4 ninety each; after the end A3 one, A4 ninety.
    assert (found["days_before"], found["days_after"]) == (271, 91)
    assert found["n_units"] == 2
    assert found["ratio"] == pytest.approx((1 / 91) / (2 / 271))
    assert found["state"] == "not_shown"


@pytest.mark.parametrize(
    ("n_before", "n_after", "state"),
    [(20, 0, "asked"), (20, 3, "asked"), (3, 1, "not_shown"), (6, 40, "no_reason")],
)
def test_only_an_interval_below_seven_tenths_is_asked(
    tmp_path, n_before, n_after, state
):
    units = [unit(f"A{n:03}", **SHORT) for n in range(100)]
    cases = [
        failed(f"R{n}", f"A{n:03}", "2024-12-01" if n < n_before else "2025-02-01")
        for n in range(n_before + n_after)
    ]

    snapshot = small_fleet.published(tmp_path, units, cases)

    found = term_end(snapshot)
    assert (found["n_before"], found["n_after"]) == (n_before, n_after)
    assert found["state"] == state
    asked = quality(snapshot, Filters()).more["asked"]
    assert (LATER_FAILURES in asked) == (state == "asked")


def test_where_failures_are_seen_only_in_warranty_nothing_is_asked(tmp_path):
    rules = LifeRules(failures_seen="in_warranty")

    found = term_end(
        small_fleet.published(tmp_path, [unit("A000", **SHORT)], [], rules=rules)
    )

    assert found["state"] == "assumed"
    assert found["ratio"] is None


def test_without_a_unit_followed_past_its_term_it_cannot_be_seen(tmp_path):
    rules = LifeRules(models={"Model A": ModelRules(warranty_months=36)})

    found = term_end(small_fleet.published(tmp_path, [unit("A000")], [], rules=rules))

    assert found["state"] == "no_units"
    assert found["n_units"] == 0


def test_a_register_of_mainly_returned_units_is_told(tmp_path):
    units = [unit(f"A{n}00") for n in range(6)]
    cases = [case(f"R{n}", f"A{n}00") for n in range(5)]

    snapshot = small_fleet.published(tmp_path, units, cases)

    found = register(snapshot)
    assert (found["n_units"], found["n_returned"]) == (6, 5)
    assert found["is_mainly_returned"]
    assert quality(snapshot, Filters()).more["asked"] == [MAINLY_RETURNED]


def test_four_of_five_returned_units_are_not_over_80_percent(tmp_path):
    units = [unit(f"A{n}00") for n in range(5)]
    cases = [case(f"R{n}", f"A{n}00") for n in range(4)]

    found = register(small_fleet.published(tmp_path, units, cases))

    assert found["share_returned"] == 0.8
    assert not found["is_mainly_returned"]


@pytest.mark.parametrize(("n_returns", "is_mainly"), [(16, False), (17, True)])
def test_units_registered_by_their_return_make_such_a_register_too(
    tmp_path, n_returns, is_mainly
):
    # The exact lower limit of 17 of 17 is 0.025 ** (1 / 17) = 0.805, of 16 0.794.
    units = [
        *(unit(f"A{n:03}", registered_on="2025-06-01") for n in range(n_returns)),
        *(unit(f"B{n:03}", registered_on="2025-01-01") for n in range(50)),
    ]
    cases = [case(f"R{n}", f"A{n:03}") for n in range(n_returns)]

    found = register(small_fleet.published(tmp_path, units, cases))

    assert found["n_dated_returned"] == found["n_registered_by_return"] == n_returns
    assert found["is_mainly_returned"] == is_mainly


def test_units_with_neither_date_are_counted(tmp_path):
    units = [
        unit("A000", in_service_on=""),
        unit("A100", in_service_on="", shipped_on="2025-01-01"),
        unit("A200"),
    ]

    assert register(small_fleet.published(tmp_path, units, []))["n_no_dates"] == 1


def test_records_that_wait_for_a_unit_or_case_are_counted_until_it_comes(tmp_path):
    small_fleet.published(
        tmp_path,
        [unit("A000")],
        [case("R1", "A000"), case("R2", "X100"), case("R3", "X100")],
    )
    reading = {
        "case_id": "R9", "check": "pilot_continuity", "taken_at": "2025-06-02",
        "stage": "diagnosis", "value": "0.4", "unit": "ohm",
    }  # fmt: skip
    assert published_after(tmp_path, "readings.csv", [reading]) == [
        {
            "kind": "readings", "waits_for": "case", "n_rows": 1, "n_names": 1,
            "names": "R9",
        },
        {
            "kind": "repairs", "waits_for": "unit", "n_rows": 2, "n_names": 1,
            "names": "X100",
        },
    ]  # fmt: skip

    left = published_after(tmp_path, "later.csv", [unit("X100")])

    assert [row["kind"] for row in left] == ["readings"]


def published_after(folder, name, rows):
    file = small_fleet.write_rows(folder / name, rows)
    ingest_paths(folder / "store.duckdb", [file])
    publish(folder / "store.duckdb", folder / "published", as_of=AS_OF)
    return waiting(current_snapshot(folder / "published"))
