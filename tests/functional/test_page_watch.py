"""Page Recurring failures: each of its states, on a hand-made answer of the watch."""

import dataclasses

import pytest
import streamlit as st

from dashboard.filters import Filters
from dashboard.queries import watch as watch_query
from tests import watch_answer as made

NAME = "2026-01-aaaaa"
OTHER = "2026-02-bbbbb"


@pytest.fixture
def show(open_page, snapshot, monkeypatch):
    """Return a function that opens the page on an answer of one's own."""

    def shown(*rows, words=None, before="2026-05-30-00000000", filters=None, **more):
        answer = made.answer(snapshot, rows, filters=filters, **more)
        about = dataclasses.replace(answer.about, previous=before)
        answer = dataclasses.replace(answer, about=about)
        monkeypatch.setattr(watch_query, "watch", lambda _place, _filters: answer)
        st.cache_data.clear()
        return open_page("watch", **(words or {}))

    yield shown
    st.cache_data.clear()


def headings(page):
    return [heading.value for heading in page.header]


def test_the_answer_counts_alarms_new_ones_and_names_the_most_urgent(show, read):
    first = made.alarm(NAME, severity="critical")
    second = made.alarm(OTHER, state="acknowledged", is_new_figures=False)

    shown = read(show(first, second))

    assert (
        "2 alarms stand, 1 of a critical failure; 1 not in the figures published "
        "before, 1 not taken up by anybody yet. The most urgent: Latch of the handle, "
        "model Brindlow 32." in shown
    )
    assert "Set to about 2 false alarms a year over the whole fleet" in shown
    assert "no verdict" in shown
    assert "Caveat about these records." in shown


def test_without_figures_before_nothing_is_called_new_against_them(show, read):
    assert "published before, " not in read(show(made.alarm(NAME), before=None))


def test_a_row_says_state_place_numbers_and_has_a_chart_and_a_way_in(show, read):
    row = made.alarm(NAME, state="under_action", note="a *new* tool", noted_on="2026")

    page = show(row)

    shown = read(page)
    assert "under action" in shown
    assert "noted 2026: a *new* tool" in shown
    assert (
        "began about 2025-11, alarm 2026-01 · 14 cases where 5.20 were expected in 6 "
        "months · ratio 2.70 (95 % interval 1.50 to 4.80)" in shown
    )
    assert len(page.get("vega_lite_chart")) == 1
    assert page.button(key=f"watch_open_{NAME}").label.startswith("Latch of the handle")


def test_the_table_holds_every_alarm_also_beyond_those_with_a_chart(show, table_with):
    rows = [made.alarm(f"2026-01-{n:05}") for n in range(23)]

    page = show(*rows)

    assert len(page.get("vega_lite_chart")) == 20
    assert list(table_with(page, "times_per_year")["alarm"]) == [
        row["alarm"] for row in rows
    ]


def test_a_click_opens_the_evidence_and_another_leads_back(show, read):
    page = show(made.alarm(NAME))

    page.button(key=f"watch_open_{NAME}").click().run()

    assert page.query_params["alarm"] == NAME
    assert f"Sentence of {NAME}." in read(page)
    assert len(page.get("vega_lite_chart")) == 2
    page.button(key="watch_all").click().run()
    assert "alarm" not in page.query_params
    assert "Alarms that stand, the most urgent first" in headings(page)


def test_an_alarm_shows_its_evidence_what_its_cases_share_and_the_cases(
    show, read, table_with
):
    page = show(
        made.alarm(NAME, also=[{"failure": "Latch broken", "where": "lot L1"}]),
        words={"alarm": NAME},
        cases=[made.case(NAME, "W-1"), made.case(NAME, "W/2", is_after=True)],
        comparison=[
            made.compared(NAME),
            made.compared(NAME, dimension="region", value=None, is_best=False),
        ],
        lots=[{"alarm": NAME, "lot": None, **made.FAMILY, "n_cases": 11}],
    )

    shown = read(page)
    assert headings(page) == [
        "Failures a month: 14 cases where 5.20 were expected in 6 months",
        "Evidence reached 5.10 in 2026-01; the threshold was 4.20",
        "What else the cases share",
        "Lots of this model",
        "The cases: 2",
        "What is being done about it",
    ]
    assert "the group failed 2.70 times as often as expected" in shown
    assert "tends to read high" in shown
    assert "The same cases also raised: Latch broken, lot L1." in shown
    assert f"Explanation of {NAME}." in shown
    assert list(table_with(page, "told")["told"]) == ["explains it best", ""]
    assert list(table_with(page, "told")["value"]) == ["L1", "not recorded"]
    assert list(table_with(page, "link")["link"]) == [
        "case?case_id=W-1",
        "case?case_id=W%2F2",
    ]
    assert list(table_with(page, "link")["counted"]) == ["in it", "after the alarm"]
    assert list(table_with(page, "lot", "ratio")["lot"]) == ["not recorded"]


def test_the_months_are_a_table_and_months_not_complete_say_so(show, table_with):
    page = show(made.alarm(NAME), words={"alarm": NAME})

    table = table_with(page, "observed", "threshold")
    assert list(table["month"][:3]) == ["2026-06", "2026-05", "2026-04"]
    assert list(table["complete"][:3]) == ["not complete", "not complete", "complete"]


def test_a_weak_explanation_is_called_weak(show, table_with):
    page = show(
        made.alarm(NAME),
        words={"alarm": NAME},
        comparison=[made.compared(NAME, gain=-0.2)],
    )

    assert list(table_with(page, "told")["told"]) == ["goes with it most, weakly"]


def test_a_past_alarm_says_that_it_is_past_and_keeps_its_notes(show, read):
    page = show(past=[made.alarm(NAME, state="closed")], words={"alarm": NAME})

    assert "This alarm is past" in read(page)
    assert headings(page) == ["What is being done about it"]


def test_an_alarm_that_is_not_there_is_told_as_typed(show, read):
    page = show(made.alarm(NAME), words={"alarm": "![x](y)"})

    assert "There is no alarm ![x](y) under these filters." in read(page)
    assert r"\!\[x\]" in page.info[0].value
    assert page.button(key="watch_all")


def test_no_alarm_is_an_answer_with_what_would_have_been_noticed(show, read):
    page = show(thin=[_thin()] * 3)

    shown = read(page)
    assert "Nothing stands out: no alarm stands among 90 groups watched." in shown
    assert "87 of them are large enough" in shown
    assert "was noticed within a year" in shown
    assert not page.get("vega_lite_chart")


def _thin():
    return {
        "failure": "Latch of the handle",
        "where": "lot L1",
        "n_failures": 2,
        "expected_year": 1.5,
        "enough": "20 failures expected a year; here 1.50",
    }


def test_filters_that_leave_no_alarm_say_so(show, read):
    shown = read(show(filters=Filters(component=("handle",))))

    assert "No alarm that stands has a case under these filters." in shown
    assert "Nothing stands out" not in shown


def test_a_fleet_that_cannot_be_watched_says_why_and_shows_the_rest(show, read):
    page = show(
        can_watch=False,
        why_not="30 first failures are confirmed. Below 50 none is raised.",
        fleet={"n_months": None, "n_groups": 0},
    )

    assert "Below 50 none is raised." in read(page)
    assert headings(page) == [
        "Do young lots fail early?",
        "Which units come back within 90 days of a repair?",
        "How often does this watch cry wolf?",
    ]


def test_young_lots_name_the_one_that_stands_out(show, read, table_with):
    lot = {
        "model": "Quellin 7",
        "lot": "Q2601",
        "n_units": 300,
        "n_failed": 9,
        **made.FAMILY,
        "adjusted_p": 0.004,
        "is_raised": True,
    }
    page = show(early=[lot, lot | {"lot": None, "is_raised": False}])

    assert (
        "2 lots younger than six months: 1 above older lots at the same ages, most of "
        "all Quellin 7 Q2601, 9 failures where 5.20 were expected" in read(page)
    )
    assert list(table_with(page, "stands")["stands"]) == ["stands out", "like others"]
    assert list(table_with(page, "stands")["lot"]) == ["Q2601", "not recorded"]


def test_young_lots_of_which_none_stands_out_are_told(show, read):
    lot = {"model": "M", "lot": "L", "n_units": 3, "n_failed": 0, **made.FAMILY}

    shown = read(show(early=[lot | {"adjusted_p": None, "is_raised": False}]))

    assert "1 lot younger than six months: none stands out" in shown


def test_repairs_past_alarms_thin_groups_and_families_are_tables(show, table_with):
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
    page = show(
        made.alarm(NAME),
        repeats=[back],
        past=[made.alarm(OTHER, state="closed", note="tool replaced")],
        thin=[_thin()],
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


def test_measured_false_alarms_and_known_misses_are_told(show, read):
    scene = {
        "scene": "d",
        "words": "levels differ and months are good or bad",
        "ratio": 1.04,
        "standard_error": 0.03,
        "n_fleets": 92,
        "command": "python -m tests.truth",
    }

    page = show(measured=[scene])

    shown = read(page)
    assert "The setting is 2 a year" in shown
    assert "A slow drift of all groups together" in shown
    assert "Fewer than 10 groups" in shown
    table = page.table[0].value
    assert list(table.iloc[0]) == [
        "levels differ and months are good or bad", "1.04", "0.06", "92",
    ]  # fmt: skip


def test_what_is_left_out_names_months_failures_and_how_filters_count(show, read):
    shown = read(show())

    assert "66 months from 2021-01 to 2026-06, 812 first failures in 90" in shown
    assert "The newest month is not complete: about 0.310" in shown
    assert "the numbers of an alarm stay those of the whole fleet" in shown
