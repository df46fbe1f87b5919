"""New alarms of recurring failures on Today: those nobody has taken up."""

import datetime as dt

import pytest

from analytics.rollup.publish import publish
from dashboard.filters import Filters
from dashboard.queries.today import today
from dashboard.queries.watch import watch
from dashboard.settings import Place
from ingest.alarms import note_alarm
from tests import recurring_fleet
from tests.small_fleet import published

BEFORE, MARCH = dt.date(2024, 11, 30), dt.date(2025, 3, 31)
NOON = dt.datetime(2025, 4, 2, 12, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """Return figures with an alarm that those published before them did not have."""
    folder = tmp_path_factory.mktemp("alarms")
    place = Place(folder)
    published(folder, recurring_fleet.units(), recurring_fleet.cases(), as_of=BEFORE)
    publish(place.store, place.published, as_of=MARCH)
    return place


def ostrel(rows):
    return [row for row in rows if row["where"] == "cable supplier Ostrel"]


def test_a_new_alarm_stands_on_today_with_the_numbers_of_the_watch(place):
    found = ostrel(today(place, Filters()).more["alarms"])

    watched = {row["alarm"]: row for row in watch(place, Filters()).rows}
    assert found
    for row in found:
        assert row == {name: watched[row["alarm"]][name] for name in row}
        assert row["is_new_figures"]


def test_alarms_that_the_figures_before_did_not_have_are_counted(place):
    more = today(place, Filters()).more

    (row,) = [row for row in more["changes"] if row["what"] == "new_alarms"]
    assert row["now"] == len([a for a in more["alarms"] if a["is_new_figures"]]) > 0
    assert row["before"] is None


def test_filters_that_choose_no_case_of_an_alarm_leave_it_out(place):
    chosen = Filters.of({"cable_supplier": "Nobody"})

    assert today(place, chosen).more["alarms"] == []


def test_the_page_says_each_alarm_and_offers_the_units_alike(
    open_page, read, table_with, place
):
    page = open_page("today", of=place)

    shown = read(page)
    first = ostrel(today(place, Filters()).more["alarms"])[0]
    assert str(first["sentence"]) in shown
    assert "Who else has them in the field:" in shown
    assert "it says nothing about one unit" in shown
    assert "/api/v1/export/alarm-units?format=json" in shown
    table = table_with(page, "failure", "where", "ratio", "state")
    assert str(first["where"]) in table["where"].tolist()


def test_an_alarm_taken_up_and_known_before_is_no_news(place):
    # The same figures on the next day: nothing is new to them any more.
    publish(place.store, place.published, as_of=MARCH + dt.timedelta(days=1))
    for row in watch(place, Filters()).rows:
        note_alarm(
            place.store,
            alarm=str(row["alarm"]),
            state="acknowledged",
            text="joints opened",
            noted_at=NOON,
        )

    answer = today(place, Filters())

    assert answer.more["alarms"] == []
    assert answer.more["alarms_why_not"] is None
