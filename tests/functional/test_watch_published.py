"""From records to alarms: raised at a publish, kept, and known again at the next."""

import datetime as dt

import pytest

from analytics.rollup.publish import publish
from analytics.rollup.rules import LifeRules
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.watch import watch
from dashboard.settings import Place
from ingest import store
from ingest.alarms import note_alarm, recorded_alarms
from ingest.pipeline import ingest_paths
from tests import recurring_fleet
from tests.small_fleet import published, unit, write_rows

MARCH = dt.date(2025, 3, 31)
APRIL = dt.date(2025, 4, 30)
NOON = dt.datetime(2025, 4, 2, 12, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    found = tmp_path_factory.mktemp("recurring")
    published(found, recurring_fleet.units(), recurring_fleet.cases(), as_of=MARCH)
    return found


@pytest.fixture
def place(folder):
    return Place(folder)


def again(place, *, as_of=MARCH, **rules):
    return publish(place.store, place.published, as_of=as_of, rules=LifeRules(**rules))


def ostrel(answer):
    found = [
        row
        for row in [*answer.rows, *answer.more["past"]]
        if row["value"] == "Ostrel" and row["mode"] == "handle_pilot_open"
    ]
    return found[0] if found else None


def test_the_recurring_failure_is_named_with_where_and_since_when(place):
    row = ostrel(watch(place, Filters()))
    assert row["where"] == "cable supplier Ostrel"
    assert row["dimension"] == "cable_supplier"
    assert row["failure_kind"] == "mode"
    assert row["since"] == "2025-01"
    assert row["alarmed"] in {"2025-01", "2025-02"}
    assert row["state"] == "new"
    assert row["low"] < row["ratio"] < row["high"]
    assert row["evidence"] >= row["threshold"]
    assert len(row["cases"]) == row["n_cases"]
    assert "cable supplier Ostrel" in row["explanation"]
    assert "no verdict" in row["explanation"]


def test_what_one_supplier_raises_elsewhere_stands_in_its_row(place):
    answer = watch(place, Filters())
    row = ostrel(answer)
    # Its failures raise models, regions and lots later on, each a part of them.
    assert len(row["members"]) > 1
    shown = [other["where"] for other in row["also"]]
    assert any(where.startswith("region") for where in shown)
    assert not [r for r in answer.rows if r["dimension"] in {"region", "model"}]


def test_its_cases_are_the_ones_behind_the_number(place):
    answer = watch(place, Filters())
    row = ostrel(answer)
    behind = [case for case in answer.more["cases"] if case["alarm"] == row["alarm"]]
    assert {case["cable_supplier"] for case in behind} == {"Ostrel"}
    assert {case["mode"] for case in behind} == {"handle_pilot_open"}
    in_window = {case["case_id"] for case in behind if not case["is_after"]}
    assert in_window == set(row["cases"])
    assert sum(case["is_after"] for case in behind) == row["n_after"]


def test_the_months_of_the_chart_hold_every_failure_of_the_group(place):
    answer = watch(place, Filters())
    row = ostrel(answer)
    series = [m for m in answer.more["series"] if m["alarm"] == row["alarm"]]
    assert [m["month"] for m in series][:2] == ["2023-01", "2023-02"]
    assert series[-1]["month"] == "2025-03"
    assert series[-1]["observed"] == 8  # seven more, and one of the eight of a month
    assert row["months"][-1]["observed"] == 8
    assert all(m["expected"] > 0 for m in series)


def test_the_same_records_give_the_same_figures_and_alarms(place):
    before = current_snapshot(place.published).about.snapshot
    kept = recorded_alarms(place.store)
    found = again(place)
    assert found.snapshot == before
    assert found.n_new_alarms == 0
    assert recorded_alarms(place.store) == kept


def test_alarms_are_kept_with_the_figures_that_raised_them(place):
    kept = recorded_alarms(place.store)
    snapshot = current_snapshot(place.published).about.snapshot
    assert kept.through == dt.date(2025, 3, 1)
    assert kept.first_live == dt.date(2024, 1, 1)
    assert {alarm.first_snapshot for alarm in kept.alarms} == {snapshot}
    row = ostrel(watch(place, Filters()))
    assert row["alarm"] in {alarm.key.alarm for alarm in kept.alarms}
    assert row["first_seen_snapshot"] == snapshot


def test_filters_choose_alarms_and_leave_their_numbers(place):
    all_of_them = ostrel(watch(place, Filters()))
    chosen = watch(place, Filters.of({"cable_supplier": ["Ostrel"]}))
    assert ostrel(chosen) == all_of_them
    other = watch(place, Filters.of({"cable_supplier": ["Halvorn"]}))
    assert ostrel(other) is None


def test_notes_stay_and_the_next_month_raises_no_alarm_twice(place):
    alarm = ostrel(watch(place, Filters()))["alarm"]
    note_alarm(
        place.store,
        alarm,
        state="under_action",
        text="Cables asked for.",
        noted_at=NOON,
    )
    assert ostrel(watch(place, Filters(), only_new=True)) is None
    april = again(place, as_of=APRIL)
    row = ostrel(watch(place, Filters()))
    assert row["alarm"] == alarm
    assert (row["state"], row["note"]) == ("under_action", "Cables asked for.")
    assert not row["is_new_figures"]
    kept = recorded_alarms(place.store)
    assert kept.through == dt.date(2025, 4, 1)
    of_april = [a for a in kept.alarms if a.first_snapshot == april.snapshot]
    assert {a.key.look for a in of_april} <= {
        dt.date(2025, 3, 1),
        dt.date(2025, 4, 1),
    }


def test_a_look_back_tells_nobody(place):
    again(place, as_of=APRIL)
    kept = recorded_alarms(place.store)
    past = again(place, as_of=dt.date(2024, 12, 31))
    assert past.n_new_alarms == 0
    assert recorded_alarms(place.store) == kept
    assert ostrel(watch(place, Filters())) is None  # nothing rose by then
    again(place, as_of=APRIL)


def test_a_closed_alarm_stands_no_more(place):
    alarm = ostrel(watch(place, Filters()))["alarm"]
    now = dt.datetime.now(dt.UTC)
    note_alarm(
        place.store, alarm, state="closed", text="New cables fitted.", noted_at=now
    )
    answer = watch(place, Filters())
    assert alarm not in {row["alarm"] for row in answer.rows}
    assert alarm in {row["alarm"] for row in answer.more["past"]}


def test_an_alarm_whose_group_has_another_name_now_is_told(tmp_path):
    cases = recurring_fleet.cases(until=MARCH)
    published(tmp_path, recurring_fleet.units(), cases, as_of=MARCH)
    place = Place(tmp_path)
    alarm = ostrel(watch(place, Filters()))["alarm"]
    renamed = [
        row | {"cable_supplier": "Ostrelle"}
        if row["cable_supplier"] == "Ostrel"
        else row
        for row in recurring_fleet.units()
    ]
    ingest_paths(place.store, [write_rows(tmp_path / "renamed.csv", renamed)])
    again(place)
    answer = watch(place, Filters())
    assert ostrel(answer) is None
    told = next(s for s in answer.more["sentences"] if "cannot be shown" in s)
    assert told.startswith("1 alarm raised before")
    assert f"{alarm}, Pilot conductor open at the handle" in told
    assert "cable supplier Ostrel)" in told


def test_an_alarm_of_a_month_that_can_no_longer_be_judged_stands(tmp_path):
    cases = recurring_fleet.cases()
    published(tmp_path, recurring_fleet.units(), cases, as_of=MARCH)
    place = Place(tmp_path)
    alarm = ostrel(watch(place, Filters()))["alarm"]
    # The register turns out to reach back to the summer before alone.
    later = [row | {"registered_on": "2024-06-15"} for row in recurring_fleet.units()]
    ingest_paths(place.store, [write_rows(tmp_path / "later.csv", later)])
    again(place, as_of=dt.date(2025, 6, 30))
    row = ostrel(watch(place, Filters()))
    assert row["alarm"] == alarm
    assert row["threshold"] is None
    assert "begin too late to judge that month again" in row["sentence"]


def test_a_closed_alarm_stands_again_while_its_failures_go_on(place):
    alarm = ostrel(watch(place, Filters()))["alarm"]
    kept = recorded_alarms(place.store)
    seen = max(a.first_seen_on for a in kept.alarms)
    note_alarm(
        place.store,
        alarm,
        state="closed",
        text="Only a bad month.",
        noted_at=dt.datetime.combine(seen, dt.time(23), dt.UTC),
    )
    assert ostrel(watch(place, Filters()))["state"] == "closed"
    # Said of the end of January: 8 a month in February and March, one expected.
    with store.open_for_writing(place.store) as connection:
        connection.execute("UPDATE alarms SET first_seen_on = DATE '2025-01-31'")
        connection.execute(
            "UPDATE alarm_notes SET noted_at = TIMESTAMP '2025-01-31 23:00:00'"
        )
    row = ostrel(watch(place, Filters()))
    assert (row["state"], row["is_open_again"]) == ("new", True)
    assert "closed on 2025-01-31 and stands again" in row["sentence"]


def test_without_the_rise_nothing_is_raised(tmp_path):
    cases = recurring_fleet.cases(n_more=0, until=MARCH)
    published(tmp_path, recurring_fleet.units(), cases, as_of=MARCH)
    answer = watch(Place(tmp_path), Filters())
    assert answer.more["can_watch"]
    assert not answer.rows
    assert answer.more["fleet"]["n_failures"] == len(cases)


@pytest.mark.parametrize(
    ("as_of", "reason"),
    [
        (dt.date(2023, 12, 31), "The records reach over 12 months."),
        (dt.date(2023, 6, 30), "The records reach over 6 months."),
    ],
)
def test_less_than_a_year_of_months_is_not_watched(tmp_path, as_of, reason):
    cases = recurring_fleet.cases(until=as_of)
    published(tmp_path, recurring_fleet.units(), cases, as_of=as_of)
    answer = watch(Place(tmp_path), Filters())
    assert not answer.more["can_watch"]
    assert answer.more["why_not"].startswith(reason)
    assert not answer.rows
    assert recorded_alarms(tmp_path / "store.duckdb").through is None


def test_few_failures_are_not_watched(tmp_path):
    cases = recurring_fleet.cases(until=MARCH)[::6]
    published(tmp_path, recurring_fleet.units(), cases, as_of=MARCH)
    answer = watch(Place(tmp_path), Filters())
    assert not answer.more["can_watch"]
    assert f"{len(cases)} first failures are confirmed" in answer.more["why_not"]


def test_one_old_unit_makes_no_history(tmp_path):
    as_of = dt.date(2023, 6, 30)
    units = [
        *recurring_fleet.units(),
        unit("OLD", in_service_on="1995-01-01", cable_supplier="Ostrel"),
    ]
    cases = recurring_fleet.cases(n_more=20, until=as_of)
    published(tmp_path, units, cases, as_of=as_of)
    answer = watch(Place(tmp_path), Filters())
    assert answer.more["why_not"].startswith("The records reach over 6 months.")
