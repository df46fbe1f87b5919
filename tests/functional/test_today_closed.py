"""Critical cases that are closed, known before, or not compared with anything."""

import datetime as dt

from dashboard.filters import Filters
from dashboard.queries.today import today
from dashboard.queries.today_critical import (
    LOOK_BACK,
    SCRAPPED,
    critical_cases,
)
from dashboard.queries.today_words import critical_sentence
from dashboard.settings import Place
from ingest.pipeline import ingest_paths
from tests.small_fleet import AS_OF, case, published, reading, unit, write_rows
from tests.small_fleet import published as published_again

UNITS = [unit(f"U-{n:03}", connector="type_1") for n in range(6)]
WELDED = reading("R1", "contactor_open", point="L1", value="0.4", unit="ohm")


def found(tmp_path, cases, readings=()):
    snapshot = published(tmp_path, UNITS, cases, readings=readings)
    return critical_cases(snapshot, Filters())


def closed(case_id, serial, **fields):
    return case(
        case_id,
        serial,
        confirmed_mode="contactor_welded",
        confirmed_on="2025-06-09",
        closed_on="2025-06-20",
        **fields,
    )


def test_a_case_closed_long_ago_is_counted_and_not_shown(tmp_path):
    cases = [
        closed("R1", "U-001"),
        case("R2", "U-002", confirmed_mode="supply_miswired"),
    ]
    published(tmp_path, UNITS, cases)

    answer = today(Place(tmp_path), Filters())

    assert [row["case_id"] for row in answer.rows] == ["R2"]
    assert answer.more["critical"] == {
        "n_open": 1,
        "n_new": None,
        "n_rest": 1,
        "n_recent": 0,
        "recent_from": "2025-12-01",
        "is_compared": False,
    }


def test_a_case_closed_lately_is_said_to_be_shown_where_nothing_is_compared(tmp_path):
    closed_lately = case(
        "R1",
        "U-001",
        confirmed_mode="contactor_welded",
        received_on="2025-12-10",
        confirmed_on="2025-12-12",
        closed_on="2025-12-20",
    )
    published(tmp_path, UNITS, [closed_lately])

    answer = today(Place(tmp_path), Filters())

    assert [row["case_id"] for row in answer.rows] == ["R1"]
    assert critical_sentence(answer.more["critical"]) == (
        "No critical case is open; 1 critical since 2025-12-01 is closed, and shown."
    )


def test_a_case_closed_since_the_figures_before_is_new_once(tmp_path):
    place = Place(tmp_path)
    published(tmp_path, UNITS, [closed("R1", "U-001")], as_of=dt.date(2025, 6, 5))
    published_again(tmp_path, UNITS, [closed("R1", "U-001")], as_of=AS_OF)

    answer = today(place, Filters())
    assert [(row["case_id"], row["is_new"]) for row in answer.rows] == [("R1", True)]
    assert answer.rows[0]["to_do"] == LOOK_BACK

    published_again(
        tmp_path, UNITS, [closed("R1", "U-001")], as_of=AS_OF + dt.timedelta(days=1)
    )
    later = today(place, Filters())
    assert later.rows == []
    assert later.more["critical"]["n_rest"] == 1


def test_an_open_case_known_before_stays_and_is_not_new(tmp_path):
    place = Place(tmp_path)
    snapshot = published(tmp_path, UNITS, [case("R1", "U-001")], readings=[WELDED])
    late = [
        case("R2", "U-002", confirmed_mode="supply_miswired", received_on="2025-12-30")
    ]
    ingest_paths(place.store, [write_rows(tmp_path / "late.csv", late)])
    again = published_again(tmp_path, UNITS, [], as_of=AS_OF)

    assert again.about.previous == snapshot.about.snapshot
    rows = today(place, Filters()).rows
    assert {row["case_id"]: row["is_new"] for row in rows} == {"R1": False, "R2": True}


def test_a_filter_does_not_make_an_old_case_new(tmp_path):
    place = Place(tmp_path)
    published(tmp_path, UNITS, [case("R1", "U-001")], readings=[WELDED])
    moved = [unit("U-001", connector="type_1", site="Harbour 1")]
    ingest_paths(place.store, [write_rows(tmp_path / "moved.csv", moved)])
    published_again(tmp_path, UNITS[2:], [], as_of=AS_OF)

    (row,) = today(place, Filters.of({"site": "Harbour 1"})).rows

    assert row["is_new"] is False


def test_where_nothing_compares_those_of_the_last_month_are_shown(tmp_path):
    cases = [closed("R1", "U-001")]
    published(tmp_path, UNITS, cases, as_of=dt.date(2025, 7, 10))
    assert len(today(Place(tmp_path), Filters()).rows) == 1

    other = tmp_path / "other"
    published(other, UNITS, cases, as_of=dt.date(2025, 7, 11))
    assert today(Place(other), Filters()).rows == []


def test_a_scrapped_unit_is_not_asked_about_going_back_into_use(tmp_path):
    published(
        tmp_path,
        UNITS,
        [closed("R1", "U-001", disposition="scrapped")],
        as_of=dt.date(2025, 6, 25),
    )

    assert today(Place(tmp_path), Filters()).rows[0]["to_do"] == SCRAPPED
