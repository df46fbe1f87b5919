"""Rates, groups, change and months, counted by hand on a few rows."""

import datetime as dt

import pytest

from analytics.statistics.intervals import poisson_interval, rate_ratio
from dashboard.filters import Filters
from dashboard.queries.modes import modes
from tests import small_fleet

YEAR = 365.25
PILOT, WELDED, NOTHING = "handle_pilot_open", "contactor_welded", "no_fault_found"


def failed(case_id, serial, day, mode=PILOT, **fields):
    return small_fleet.case(
        case_id, serial, received_on=day, failed_on=day, confirmed_mode=mode, **fields
    )


@pytest.fixture
def two_suppliers(tmp_path):
    """Return 20 units: supplier S1 and S2, each with 5 old units and 5 new ones.

    Old: in service since 2024-01-01, new since 2025-01-01. Failures of S1: 3 of old
    units and 1 of a new one; of S2: 1 of an old unit. Beside them one return of S1
    without a fault and one that is open.
    """
    units = [
        small_fleet.unit(
            f"{supplier}{age}{n}",
            cable_supplier=supplier,
            in_service_on="2024-01-01" if age == "OLD" else "2025-01-01",
        )
        for supplier in ("S1", "S2")
        for age in ("OLD", "NEW")
        for n in range(5)
    ]
    cases = [
        failed("R1", "S1OLD0", "2025-03-10"),
        failed("R2", "S1OLD1", "2025-04-10"),
        failed("R3", "S1OLD2", "2025-07-10"),
        failed("R4", "S1NEW0", "2025-07-20", WELDED),
        failed("R5", "S2OLD0", "2025-08-10", WELDED),
        failed("R6", "S1OLD3", "2025-08-11", NOTHING),
        small_fleet.case("R7", "S1OLD4", received_on="2025-08-12"),
    ]
    return small_fleet.published(tmp_path, units, cases)


def first(rows, **wanted):
    return next(row for row in rows if wanted.items() <= row.items())


def test_a_rate_is_cases_over_years_in_service_with_exact_limits(two_suppliers):
    answer = modes(two_suppliers, Filters())

    # Receipts begin in March; the last complete month is December: 306 days x 20.
    years = 20 * 306 / YEAR
    pilot = first(answer.rows, mode=PILOT)
    assert pilot["unit_years"] == pytest.approx(years)
    assert pilot["rate"] == pytest.approx(1000 * 3 / years)
    low, high = poisson_interval(3, years)
    assert (pilot["rate_low"], pilot["rate_high"]) == pytest.approx(
        (1000 * low, 1000 * high)
    )
    whole = first(answer.more["rates"], mode=None)
    assert whole["n_cases"] == 5  # without what is no failure, and without open ones
    basis = answer.more["rate_basis"]
    assert (basis["first_day"], basis["last_day"]) == (
        dt.date(2025, 3, 1), dt.date(2025, 12, 31),
    )  # fmt: skip


def test_filters_of_units_and_days_choose_numerator_and_denominator(two_suppliers):
    chosen = Filters.of(
        {"cable_supplier": ["S2"], "from": "2025-08-01", "to": "2025-08-31"}
    )

    answer = modes(two_suppliers, chosen)

    years = 10 * 31 / YEAR
    assert [row["mode"] for row in answer.rows] == [WELDED]
    assert answer.rows[0]["rate"] == pytest.approx(1000 / years)


def test_time_before_registration_and_after_retirement_is_not_counted(tmp_path):
    units = [
        small_fleet.unit("A001", registered_on="2025-07-01"),
        small_fleet.unit("A002", retired_on="2025-09-01"),
        small_fleet.unit("A003", in_service_on=""),
        small_fleet.unit("A004"),
    ]
    cases = [
        failed("R1", "A001", "2025-06-15"),  # before it was registered
        failed("R2", "A002", "2025-08-15"),
        failed("R3", "A003", "2025-08-16"),  # no day its life began
        failed("R4", "B999", "2025-08-17"),  # not in the register
    ]
    answer = modes(small_fleet.published(tmp_path, units, cases), Filters())

    # From 2025-06-01 to 2025-12-31: A001 from 2 July on, A002 up to August, A004.
    days = 183 + 92 + 214
    basis = answer.more["rate_basis"]
    assert basis["unit_years"] == pytest.approx(days / YEAR)
    assert first(answer.more["rates"], mode=PILOT)["n_cases"] == 1
    assert basis["left_out"] == {
        "failed_before_registration": 1, "no_dates": 1, "unknown_serial": 1,
    }  # fmt: skip
    assert (
        "Not in the rates: 1 case of units not in the register." in (basis["sentences"])
    )


def test_a_group_is_held_against_units_of_like_age(two_suppliers):
    groups = modes(two_suppliers, Filters()).more["groups"]["cable_supplier"]

    worse, better = groups
    assert (worse["value"], better["value"]) == ("S1", "S2")
    assert (worse["n_units"], worse["n_failures"], better["n_failures"]) == (10, 4, 1)
    # Both suppliers lived the same days: the other's failures are what is expected.
    assert worse["compared_with"] == "others"
    assert worse["expected"] == pytest.approx(1)
    two = rate_ratio(4, 1.0, 1, 1.0)
    assert (worse["ratio"], worse["ratio_low"], worse["ratio_high"]) == pytest.approx(
        (two.ratio, two.low, two.high)
    )
    # The same ages as the fleet: made equal, the rate stays what it was.
    assert worse["standardised"] == pytest.approx(worse["crude"])
    assert worse["covered"] == pytest.approx(1)
    # 4 or 5 of 5 by chance, (5 + 1) / 32, doubled as the interval has it.
    assert worse["p_value"] == pytest.approx(12 / 32)
    assert not worse["is_unusual"]


def test_ages_a_group_has_not_lived_get_no_weight_and_that_is_said(tmp_path):
    units = [
        small_fleet.unit(f"A0{n}", production_lot="L1", in_service_on="2024-01-01")
        for n in range(5)
    ] + [small_fleet.unit(f"B0{n}", production_lot="L2") for n in range(5)]
    cases = [failed("R1", "A00", "2025-03-01"), failed("R2", "B00", "2025-03-02")]
    snapshot = small_fleet.published(tmp_path, units, cases)

    lots = modes(snapshot, Filters.of({"to": "2025-12-30"})).more["groups"]["lot"]

    # Old units lived 425 to 729 days, new ones 59 to 363: half of all each, no day
    # in common, so there is nothing to hold them against.
    for lot in lots:
        assert lot["covered"] == pytest.approx(0.5)
        assert lot["expected"] is lot["ratio"] is None


def test_rates_by_age_add_up_to_all_failures_and_years(two_suppliers):
    more = modes(two_suppliers, Filters()).more

    assert sum(row["n_failures"] for row in more["ages"]) == 5
    assert sum(row["unit_years"] for row in more["ages"]) == pytest.approx(
        more["rate_basis"]["unit_years"]
    )
    young = first(more["ages"], from_days=180)
    # New units: days 180 to 364 of life; the failure of S1NEW0 at age 200.
    assert young["n_failures"] == 1
    assert young["unit_years"] == pytest.approx(10 * 185 / YEAR)


def test_change_compares_equally_many_complete_months(two_suppliers):
    change = modes(
        two_suppliers, Filters.of({"from": "2025-06-01", "to": "2025-08-31"})
    ).more["change"]

    assert change["now"] == [dt.date(2025, 6, 1), dt.date(2025, 8, 31)]
    assert change["before"] == [dt.date(2025, 3, 1), dt.date(2025, 5, 31)]
    pilot = first(change["rows"], mode=PILOT)
    assert (pilot["n_now"], pilot["n_before"]) == (1, 2)
    two = rate_ratio(1, 20 * 92 / YEAR, 2, 20 * 92 / YEAR)
    assert (pilot["ratio"], pilot["low"], pilot["high"]) == pytest.approx(
        (two.ratio, two.low, two.high)
    )
    # Half the time each: no more than 1 of 3 falls here with probability 1/2; 2 of 2,
    # by hand, with 1/4, doubled as the interval has it.
    assert pilot["p_value"] == pytest.approx(1)
    welded = first(change["rows"], mode=WELDED)
    assert welded["p_value"] == pytest.approx(2 * 0.5 ** welded["n_now"])
    assert welded["ratio"] == float("inf")
    # Three modes are compared: the smallest p counts three times.
    ps = sorted(row["p_value"] for row in change["rows"] if row["mode"])
    adjusted = min(row["adjusted_p"] for row in change["rows"] if row["mode"])
    assert adjusted == pytest.approx(min(3 * ps[0], 1.5 * ps[1], ps[2]))


def test_a_period_that_begins_within_a_month_compares_whole_months(two_suppliers):
    change = modes(
        two_suppliers, Filters.of({"from": "2025-05-15", "to": "2025-08-31"})
    ).more["change"]

    assert change["now"] == [dt.date(2025, 6, 1), dt.date(2025, 8, 31)]


def test_a_clear_change_is_named_with_both_counts_and_its_ratio(tmp_path):
    units = [small_fleet.unit(f"A{n:03}") for n in range(40)]
    cases = [failed("R0", "A000", "2025-03-05")]
    cases += [failed(f"R{n}", f"A{n:03}", "2025-10-05") for n in range(1, 21)]
    change = modes(small_fleet.published(tmp_path, units, cases), Filters()).more[
        "change"
    ]

    # Ten months on record: five against five.
    pilot = first(change["rows"], mode=PILOT)
    assert pilot["is_change"]
    assert change["sentence"].startswith(
        "Clearly changed: Pilot conductor open at the handle 20 against 1 (rate ratio"
    )
    assert change["sentence"].endswith(
        "2025-08-01 to 2025-12-31 against 2025-03-01 to 2025-07-31 (5 complete months "
        "each)."
    )


def test_subjects_add_up_to_all_failures(two_suppliers):
    more = modes(two_suppliers, Filters()).more

    for subject in ("component", "severity", "mechanism", "cause"):
        rows = [row for row in more["subjects"] if row["subject"] == subject]
        assert sum(row["n_cases"] for row in rows) == more["n_failures"] == 5
    handle = first(more["subjects"], subject="component", value="handle")
    # 3 of 5, limits of Clopper and Pearson (1934): 14.7 to 94.7 %.
    assert (handle["low"], handle["high"]) == pytest.approx((0.147, 0.947), abs=5e-4)
    assert first(more["subjects"], subject="cause")["label"] == "Not recorded"


def test_the_running_share_is_of_failures_alone(two_suppliers):
    rows = modes(two_suppliers, Filters()).rows

    assert [(row["mode"], row["running"]) for row in rows] == [
        (PILOT, pytest.approx(0.6)), (WELDED, pytest.approx(1.0)), (NOTHING, None),
    ]  # fmt: skip


def test_months_without_a_return_are_there_with_nothing(two_suppliers):
    months = modes(two_suppliers, Filters()).more["months"]

    # The last return is of August; every later month is complete and has none.
    assert [row["month"] for row in months] == [f"2025-{n:02}" for n in range(3, 13)]
    assert first(months, month="2025-05")["n_received"] == 0
    december = months[-1]
    assert december["is_complete"]
    assert december["n_received"] == december["n_in_rate"] == december["rate"] == 0
    assert december["high"] > 0
    august = first(months, month="2025-08")
    assert (august["n_failures"], august["n_no_failure"], august["n_open"]) == (1, 1, 1)


def test_pairs_count_each_case_and_compare_it_with_chance(tmp_path):
    units = [small_fleet.unit(f"A{n:03}") for n in range(8)]
    told = ["handle_hot;burning_smell", "handle_hot", "handle_hot", "none_reported"]
    cases = [
        failed(f"R{n}", f"A{n:03}", "2025-06-01", PILOT if n < 4 else WELDED,
               symptoms=(told if n < 4 else ["humming"] * 4)[n % 4])
        for n in range(8)
    ]  # fmt: skip
    more = modes(small_fleet.published(tmp_path, units, cases), Filters()).more

    cell = first(more["pairs"]["symptom"], mode=PILOT, value="handle_hot")
    # 7 cases tell a symptom, 3 of them with this mode, 3 of them this symptom.
    assert cell["n_cases"] == 3
    assert cell["expected"] == pytest.approx(9 / 7)
    assert cell["residual"] == pytest.approx((3 - 9 / 7) / (9 / 7 * 16 / 49) ** 0.5)
    # All 3 of 3 among 7: 1 / 35 in the upper tail, doubled.
    assert cell["p_value"] == pytest.approx(2 / 35)
    assert cell["is_small"]
    test = first(more["tests"], dimension="symptom", value="handle_hot")
    assert (test["n_cases"], test["n_not_recorded"]) == (7, 1)
    assert test["method"] == "exact"
    assert test["p_value"] == pytest.approx(1 / 35)


def test_the_same_figures_come_out_each_time(snapshot):
    first_time, second = (modes(snapshot, Filters()).document() for _ in range(2))

    assert first_time == second
