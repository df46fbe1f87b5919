"""Recurring failures, below the alarms: young lots, repairs, how far to trust it."""

import dataclasses

import pytest

from dashboard.page_parts import watch_units
from tests import watch_answers as made

NAME = "2026-01-aaaaa"
OTHER = "2026-02-bbbbb"


def test_young_lots_name_the_one_that_stands_out(show_watch, read, table_with):
    lot = {
        "model": "Quellin 7",
        "lot": "Q2601",
        "n_units": 300,
        "n_failed": 9,
        **made.FAMILY,
        "adjusted_p": 0.004,
        "is_raised": True,
    }
    page = show_watch(early=[lot, lot | {"lot": None, "is_raised": False}])

    assert (
        "2 lots younger than six months: 1 above older lots at the same ages, most of "
        "all Quellin 7 Q2601, 9 failures where 5.20 were expected" in read(page)
    )
    assert list(table_with(page, "stands")["stands"]) == ["stands out", "like others"]
    assert list(table_with(page, "stands")["lot"]) == ["Q2601", "not recorded"]


def test_young_lots_that_stand_out_are_named_beside_the_alarms(show_watch, read):
    lot = {"model": "Quellin 7", "n_units": 300, "n_failed": 9, **made.FAMILY}
    lots = [lot | {"lot": f"Q{n}", "adjusted_p": 0.01} for n in range(6)]

    page = show_watch(early=[row | {"is_raised": row["lot"] != "Q5"} for row in lots])

    told = (
        "9 failures where 5.20 were expected (ratio 2.70, 95 % interval 1.50 to 4.80)"
    )
    shown = read(page)
    assert (
        "5 young lots fail more often than older lots did at the same ages, which an "
        f"alarm may not show yet: Quellin 7 Q0, {told}; Quellin 7 Q1, {told}; "
        f"Quellin 7 Q2, {told}; and 2 more, listed below."
    ) in shown
    # Above the list of alarms, and nothing says that all is quiet.
    assert "No alarm stands among 90 groups watched" in shown
    assert "Nothing stands out" not in shown
    parts = list(page.main)
    told_at = next(
        n for n, p in enumerate(parts) if str(getattr(p, "value", "")).startswith("5 y")
    )
    assert told_at < [part.type for part in parts].index("header")


def test_young_lots_of_which_none_stands_out_are_told(show_watch, read):
    lot = {"model": "M", "lot": "L", "n_units": 3, "n_failed": 0, **made.FAMILY}

    shown = read(show_watch(early=[lot | {"adjusted_p": 0.8, "is_raised": False}]))

    assert "1 lot younger than six months: none stands out" in shown


def test_young_lots_with_nothing_to_compare_are_not_called_like_others(
    show_watch, read, table_with
):
    lot = {"model": "M", "lot": "L", "n_units": 3, "n_failed": 0, **made.FAMILY}

    page = show_watch(early=[lot | {"adjusted_p": None, "is_raised": False}])

    assert "1 lot younger than six months: nothing to compare yet" in read(page)
    assert list(table_with(page, "stands")["stands"]) == ["nothing to compare"]


def test_a_young_lot_that_alone_failed_has_no_ratio_to_tell(show_watch, read):
    lot = {"model": "M", "lot": "L", "n_units": 30, "n_failed": 3, **made.FAMILY}
    alone = {"expected": 0.0, "ratio": None, "low": 1.5, "high": None}

    shown = read(
        show_watch(early=[lot | alone | {"adjusted_p": 0.01, "is_raised": True}])
    )

    assert "(ratio of rates: 95 % interval 1.50 or more)" in shown


def test_repairs_past_alarms_thin_groups_and_families_are_tables(
    show_watch, table_with
):
    back = {
        "mode": None,
        "label": "All repairs",
        "kind_of_repair": None,
        "n_repairs": 40,
        "n_followed": 30,
        "n_back": 3,
        "n_same": 1,
        "share": 0.1,
        "low": 0.02,
        "high": 0.27,
        "share_by_curve": None,
        "said": None,
    }
    family = {
        "family": "lot",
        "words": "group of failures by lot",
        "n_groups": 40,
        "n_failures": 812,
        "n_too_thin": 30,
        "level_cv": 0.3,
        "dispersion": 1.1,
        "threshold": 4.2,
    }
    page = show_watch(
        made.alarm(NAME),
        repeats=[back],
        past=[made.alarm(OTHER, state="closed", note="tool replaced")],
        thin=[made.thin()],
        families=[family],
    )

    assert list(table_with(page, "n_back")["share"]) == [10]
    assert list(table_with(page, "note")["note"]) == ["tool replaced"]
    assert list(table_with(page, "enough")["n_failures"]) == [2]
    assert list(table_with(page, "words")["threshold"]) == [4.2]
    files = {b.key.removesuffix("_as_csv") for b in page.get("download_button")}
    assert {
        "watch",
        "watch-repeats",
        "watch-past",
        "watch-thin",
        "watch-families",
    } <= files


def test_measured_false_alarms_and_known_misses_are_told(show_watch, read):
    scene = {
        "scene": "d",
        "words": "levels differ and months are good or bad",
        "ratio": 1.04,
        "standard_error": 0.03,
        "n_fleets": 92,
        "command": "python -m tests.truth",
    }

    page = show_watch(measured=[scene])

    shown = read(page)
    assert "The setting is 2 a year" in shown
    assert "A slow rise of one group over years" in shown
    assert "Fewer than 10 groups" in shown
    table = page.table[0].value
    assert list(table.iloc[0]) == [
        "levels differ and months are good or bad", "1.04", "0.06", "92",
    ]  # fmt: skip


def test_what_is_left_out_names_months_failures_and_how_filters_count(show_watch, read):
    shown = read(show_watch())

    assert "66 months from 2021-01 to 2026-06, 812 first failures in 90" in shown
    assert "The newest month is not complete: about 0.310" in shown
    assert "the numbers of an alarm stay those of the whole fleet" in shown


@pytest.fixture
def in_the_field(monkeypatch, snapshot):
    """Put three units of one alarm and one of another into the field."""

    def unit(alarm, serial, site):
        return {"alarm": alarm, "serial": serial, "site": site, "shared": "lot L1"}

    units = [
        unit(NAME, "S/1", "Harbour 1"),
        unit(NAME, "S2", "Harbour 1"),
        unit(NAME, "S3", None),
        unit(OTHER, "S4", "Harbour 2"),
    ]

    def units_of(_place, _filters, *, alarm):
        rows = [row for row in units if row["alarm"] == alarm]
        answer = made.answer(snapshot)
        return dataclasses.replace(answer, rows=rows, asked={"alarm": alarm})

    monkeypatch.setattr(watch_units, "alarm_units", units_of)


@pytest.mark.usefixtures("in_the_field")
def test_units_in_the_field_are_those_of_the_alarm_alone(show_watch, read, table_with):
    page = show_watch(made.alarm(NAME), words={"alarm": NAME})

    assert "3 units at 1 known site, still in service" in read(page)
    assert list(table_with(page, "shared")["link"]) == [
        "unit?serial=S%2F1",
        "unit?serial=S2",
        "unit?serial=S3",
    ]


def test_an_alarm_of_all_units_names_no_group_in_the_field(show_watch, read):
    page = show_watch(made.alarm(NAME, dimension=None), words={"alarm": NAME})

    assert "names no group of units smaller than the whole fleet" in read(page)
