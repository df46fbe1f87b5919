"""Units back within 90 days of a repair, counted by hand on a few rows."""

import datetime as dt

import pytest

from analytics.rollup.rules import LifeRules
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.repeats import repeats
from tests import small_fleet

PILOT = "handle_pilot_open"
CLOSED = dt.date(2025, 3, 1)


def repaired(n, *, closed=CLOSED, kind="part_replaced", mode=PILOT):
    return small_fleet.case(
        f"R{n}", f"A{n:03}", received_on="2025-02-01", confirmed_mode=mode,
        confirmed_on="2025-02-10", closed_on=str(closed), disposition=kind,
    )  # fmt: skip


def back(n, days, **fields):
    day = CLOSED + dt.timedelta(days=days)
    return small_fleet.case(f"B{n}", f"A{n:03}", received_on=str(day), **fields)


def answered(folder, cases, *, delay=0, units=(), **words):
    listed = [small_fleet.unit(f"A{n:03}") for n in range(20)]
    for n, fields in units:
        listed[n] |= fields
    snapshot = small_fleet.published(
        folder, listed, cases, rules=LifeRules(confirmation_delay_days=delay)
    )
    return repeats(snapshot, Filters.of(words))


def test_the_share_back_is_of_those_followed_so_long(tmp_path):
    cases = [repaired(n) for n in range(12)]
    cases += [back(0, 10, confirmed_mode=PILOT), back(1, 31), back(2, 90), back(3, 91)]

    answer = answered(tmp_path, cases)

    whole, alone = answer.rows
    assert (whole["n_repairs"], whole["n_followed"], whole["n_back"]) == (12, 12, 3)
    assert alone["kind_of_repair"] == "part_replaced"
    assert alone["n_same"] == 1
    low, high = binomial_interval(3, 12, method="clopper-pearson")
    assert (alone["share"], alone["low"], alone["high"]) == (0.25, low, high)
    # Nobody is younger: the curve says the same.
    assert alone["share_by_curve"] == pytest.approx(0.25)
    assert answer.more["sentence"].startswith(
        "Back within 90 days of a repair: 3 of 12 followed so long (25 %"
    )


def test_younger_repairs_are_in_the_curve_alone(tmp_path):
    # Known up to 2025-12-02: the last two were followed for 12 days.
    cases = [repaired(n) for n in range(10)]
    cases += [repaired(n, closed=dt.date(2025, 11, 20)) for n in (10, 11)]
    cases += [back(0, 5), back(1, 40)]

    row = answered(tmp_path, cases, delay=30).rows[0]

    assert (row["n_repairs"], row["n_followed"], row["n_by_curve"]) == (12, 10, 12)
    assert row["share"] == pytest.approx(0.2)
    # By hand: 11 of 12 stay beyond 5 days, then 8 of 9 beyond 40.
    assert row["share_by_curve"] == pytest.approx(1 - 11 / 12 * 8 / 9)
    assert row["curve_low"] < row["share_by_curve"] < row["curve_high"]


def test_scrapped_replaced_and_unclosed_units_are_no_repairs(tmp_path):
    cases = [
        repaired(0, kind="scrapped"),
        repaired(1, kind="unit_replaced"),
        repaired(2, closed="") | {"closed_on": ""},
        repaired(3),
    ]

    answer = answered(tmp_path, cases)

    assert answer.more["n_repairs"] == 1
    assert answer.more["left_out"] == {
        "not_closed": 1, "scrapped": 1, "unit_replaced": 1,
    }  # fmt: skip


def test_too_few_followed_say_so_and_show_no_share(tmp_path):
    answer = answered(tmp_path, [repaired(n) for n in range(9)])

    assert {row["said"] for row in answer.rows} == {"too few followed to say"}
    assert answer.rows[0]["share"] is None
    assert (
        "needed at least 10 repairs followed so long, found 9"
        in (answer.more["sentence"])
    )


def test_without_a_return_the_curve_has_no_limits(tmp_path):
    row = answered(tmp_path, [repaired(n) for n in range(12)]).rows[0]

    assert (row["share"], row["low"]) == (0, 0)
    assert row["high"] == pytest.approx(0.2646, abs=5e-5)  # 1 - 0.025^(1/12)
    assert row["share_by_curve"] == 0
    assert row["curve_low"] is row["curve_high"] is None


def test_a_unit_retired_early_is_not_followed_unless_it_came_back(tmp_path):
    cases = [repaired(n) for n in range(12)] + [back(0, 20)]
    retired = {"retired_on": "2025-04-01"}

    row = answered(tmp_path, cases, units=[(0, retired), (1, retired)]).rows[0]

    assert (row["n_followed"], row["n_back"]) == (11, 1)


def test_modes_and_kinds_of_repair_stand_apart_and_filters_choose(tmp_path):
    cases = [repaired(n) for n in range(3)]
    cases += [repaired(n, kind="repaired") for n in (3, 4)]
    cases += [repaired(5, mode="contactor_welded", kind="")]

    answer = answered(tmp_path, cases)
    chosen = answered(tmp_path, cases, mode=["contactor_welded"])

    assert [(r["mode"], r["kind_of_repair"], r["n_repairs"]) for r in answer.rows] == [
        (None, None, 6),
        (PILOT, "part_replaced", 3),
        (PILOT, "repaired", 2),
        ("contactor_welded", "not recorded", 1),
    ]
    assert chosen.more["n_repairs"] == 1


def test_without_a_repair_there_is_no_row(tmp_path):
    answer = answered(tmp_path, [small_fleet.case("R1", "A001")])

    assert answer.rows == []
    assert "do not say yet" in answer.more["sentence"]
