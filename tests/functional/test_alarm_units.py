"""Units in the field that share what an alarm names, counted by hand."""

import datetime as dt

import pytest

from dashboard.filters import Filters
from dashboard.queries import alarm_units as query
from dashboard.settings import Place
from ingest.alarms import AlarmKey
from ingest.errors import NotFoundError
from tests.small_fleet import case, published, unit
from tests.watch_answers import MARCH, alarm_row, watch_answer

SUPPLIER = AlarmKey.of("cable_supplier", "handle_pilot_open", "Ostrel", MARCH)
MODEL = AlarmKey.of("model", "handle_cable_heat", "Model A", MARCH)
EVERYWHERE = AlarmKey.of("component", "contactor", None, MARCH)

UNITS = [
    unit("U-1", cable_supplier="Ostrel", production_lot="L1", site="S1"),
    unit("U-2", cable_supplier="Ostrel", production_lot="L2", site="S2", region="N"),
    unit("U-3", cable_supplier="Other", production_lot="L1", site="S1"),
    unit("U-4", cable_supplier="", production_lot="L2", model="Model B"),
    unit("FAILED", cable_supplier="Ostrel"),
    unit("ELSE", cable_supplier="Ostrel"),
    unit("OPEN", cable_supplier="Ostrel"),
    unit("SCRAPPED", cable_supplier="Ostrel"),
    unit("RETIRED", cable_supplier="Ostrel", retired_on="2025-12-31"),
    unit("LATER", cable_supplier="Ostrel", in_service_on="2026-01-02"),
    unit("NO-DAY", cable_supplier="Ostrel", in_service_on=""),
    unit("RETIRES", cable_supplier="Ostrel", retired_on="2026-01-02"),
]
CASES = [
    case("R1", "FAILED", confirmed_mode="handle_pilot_open"),
    case("R2", "ELSE", confirmed_mode="contactor_welded"),
    case("R3", "OPEN"),
    case(
        "R4",
        "SCRAPPED",
        confirmed_mode="contactor_welded",
        closed_on="2025-07-01",
        disposition="scrapped",
    ),
]


@pytest.fixture
def ask(tmp_path, monkeypatch):
    """Return a function that asks with these alarms standing."""
    published(tmp_path, UNITS, CASES)

    def asked(*rows, filters=None, lots=(), **words):
        monkeypatch.setattr(
            query, "watch", lambda *_: watch_answer(rows, lots=list(lots))
        )
        return query.alarm_units(Place(tmp_path), filters or Filters(), **words)

    return asked


def supplier(**other):
    return alarm_row(SUPPLIER, **other)


def model(**other):
    words = {"failure_kind": "group", "dimension": "model"}
    return alarm_row(MODEL, **words, **other)


def serials(answer):
    return [row["serial"] for row in answer.rows]


def test_one_alarm_alone_can_be_asked_about(ask):
    both = (supplier(), model())

    whole = ask(*both)
    one = ask(*both, alarm=SUPPLIER.alarm)

    assert {row["alarm"] for row in whole.rows} == {SUPPLIER.alarm, MODEL.alarm}
    assert one.rows == [row for row in whole.rows if row["alarm"] == SUPPLIER.alarm]
    assert one.more["n_units"] == len(one.rows) < whole.more["n_units"]
    assert one.asked == {"alarm": SUPPLIER.alarm}
    with pytest.raises(NotFoundError, match="There is no alarm 2025-03-zzzzz"):
        ask(*both, alarm="2025-03-zzzzz")


def test_units_still_in_service_without_that_failure_are_listed(ask):
    answer = ask(supplier())

    assert sorted(serials(answer)) == [
        "ELSE", "NO-DAY", "OPEN", "RETIRES", "U-1", "U-2",
    ]  # fmt: skip
    assert answer.more["n_units"] == 6
    assert answer.more["n_sites"] == 2
    assert answer.more["without_group"] == []


def test_a_row_says_where_the_unit_is_and_what_it_shares(ask):
    (row,) = (row for row in ask(supplier()).rows if row["serial"] == "U-2")

    assert row == {
        "alarm": SUPPLIER.alarm,
        "serial": "U-2",
        "model": "Model A",
        "lot": "L2",
        "cable_supplier": "Ostrel",
        "hardware_revision": None,
        "region": "N",
        "site": "S2",
        "in_service_on": "2025-01-01",
        "warranty_until": None,
        "shared": "cable supplier Ostrel",
    }


def test_lots_under_an_alarm_that_stand_out_are_looked_for_too(ask):
    lots = [
        {"alarm": SUPPLIER.alarm, "lot": "L1", "low": 1.2},
        {"alarm": SUPPLIER.alarm, "lot": "L2", "low": 0.9},
        {"alarm": "another", "lot": "L2", "low": 3.0},
        {"alarm": SUPPLIER.alarm, "lot": None, "low": 3.0},
    ]

    shared = {row["serial"]: row["shared"] for row in ask(supplier(), lots=lots).rows}

    assert shared["U-1"] == "cable supplier Ostrel; lot L1"
    assert shared["U-2"] == "cable supplier Ostrel"
    assert shared["U-3"] == "lot L1"
    assert "U-4" not in shared


def test_a_group_of_failures_leaves_out_units_with_any_of_them(ask):
    found = serials(ask(model()))

    assert "FAILED" in found  # an open pilot is another group than heat
    assert "U-4" not in found
    assert "U-3" in found


def test_a_unit_stands_under_each_alarm_that_it_shares_the_most_urgent_first(ask):
    rows = ask(model(), supplier()).rows

    assert [row["alarm"] for row in rows if row["serial"] == "U-1"] == [
        MODEL.alarm,
        SUPPLIER.alarm,
    ]
    assert [row["alarm"] for row in rows] == sorted(
        (row["alarm"] for row in rows), key=[MODEL.alarm, SUPPLIER.alarm].index
    )


def test_an_alarm_that_names_no_group_lists_nobody_and_is_named(ask):
    everywhere = alarm_row(EVERYWHERE, failure_kind="component")
    not_recorded = supplier(value=None)

    answer = ask(everywhere, not_recorded)

    assert answer.rows == []
    assert answer.more["without_group"] == [EVERYWHERE.alarm, SUPPLIER.alarm]


def test_filters_choose_units_of_the_groups_and_days_do_not(ask):
    north = Filters(region=("N",))
    late = Filters(from_=dt.date(2030, 1, 1))

    assert serials(ask(supplier(), filters=north)) == ["U-2"]
    assert len(serials(ask(supplier(), filters=late))) == 6


def test_without_an_alarm_nobody_is_listed(ask):
    assert ask().rows == []
