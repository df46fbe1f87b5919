"""Page Recurring failures: each of its states, on a hand-made answer of the watch."""

from dashboard.filters import Filters
from dashboard.queries.watch_words import where_words
from tests import watch_answers as made

NAME = "2026-01-aaaaa"
OTHER = "2026-02-bbbbb"


def headings(page):
    return [heading.value for heading in page.header]


def test_the_answer_counts_alarms_new_ones_and_names_the_most_urgent(show_watch, read):
    first = made.alarm(NAME, severity="critical")
    second = made.alarm(OTHER, state="acknowledged", is_new_figures=False)

    shown = read(show_watch(first, second))

    assert (
        "2 alarms stand, 1 of a critical failure; 1 not in the figures published "
        "before, 1 not taken up by anybody yet. The most urgent: Latch of the handle, "
        "model Brindlow 32." in shown
    )
    assert "Set to about 2 false alarms a year over the whole fleet" in shown
    assert "no verdict" in shown
    assert "Caveat about these records." in shown


def test_without_figures_before_nothing_is_called_new_against_them(show_watch, read):
    assert "published before, " not in read(show_watch(made.alarm(NAME), before=None))


def test_a_row_says_state_place_numbers_and_has_a_chart_and_a_way_in(show_watch, read):
    row = made.alarm(NAME, state="under_action", note="a *new* tool", noted_on="2026")

    page = show_watch(row)

    shown = read(page)
    assert "under action" in shown
    assert "noted 2026: a *new* tool" in shown
    assert (
        "began about 2025-11, alarm 2026-01 · 14 cases where 5.20 were expected in 6 "
        "months · ratio 2.70 (95 % interval 1.50 to 4.80)" in shown
    )
    assert len(page.get("vega_lite_chart")) == 1
    assert page.button(key=f"watch_open_{NAME}").label.startswith("Latch of the handle")


def test_one_revision_of_a_supplier_is_named_in_every_row(show_watch, table_with):
    where = where_words("supplier_revision", '["Ostrel", "B"]')
    row = made.alarm(NAME, where=where, value="Ostrel", hardware_revision="B")

    page = show_watch(row)

    assert where == "cable supplier Ostrel, hardware revision B"
    assert page.button(key=f"watch_open_{NAME}").label.startswith(
        f"Latch of the handle, {where}"
    )
    assert list(table_with(page, "times_per_year")["where"]) == [where]


def test_the_table_holds_every_alarm_also_beyond_those_with_a_chart(
    show_watch, table_with
):
    rows = [made.alarm(f"2026-01-{n:05}") for n in range(23)]

    page = show_watch(*rows)

    assert len(page.get("vega_lite_chart")) == 20
    assert list(table_with(page, "times_per_year")["alarm"]) == [
        row["alarm"] for row in rows
    ]


def test_a_click_opens_the_evidence_and_another_leads_back(show_watch, read):
    page = show_watch(made.alarm(NAME))

    page.button(key=f"watch_open_{NAME}").click().run()

    assert page.query_params["alarm"] == NAME
    assert f"Sentence of {NAME}." in read(page)
    assert len(page.get("vega_lite_chart")) == 2
    page.button(key="watch_all").click().run()
    assert "alarm" not in page.query_params
    assert "Alarms that stand, the most urgent first" in headings(page)


def test_an_alarm_shows_its_evidence_what_its_cases_share_and_the_cases(
    show_watch, read, table_with
):
    page = show_watch(
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
        "Evidence reached 5.10 in 2026-01 by today's figures; the threshold is 4.20",
        "What else the cases share",
        "Lots of this model",
        "The cases: 2",
        "Units in the field that share it",
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


def test_the_months_are_a_table_and_months_not_complete_say_so(show_watch, table_with):
    page = show_watch(made.alarm(NAME), words={"alarm": NAME})

    table = table_with(page, "observed", "threshold")
    assert list(table["month"][:3]) == ["2026-06", "2026-05", "2026-04"]
    assert list(table["complete"][:3]) == ["not complete", "not complete", "complete"]


def test_a_weak_explanation_is_called_weak(show_watch, table_with):
    page = show_watch(
        made.alarm(NAME),
        words={"alarm": NAME},
        comparison=[made.compared(NAME, gain=-0.2)],
    )

    assert list(table_with(page, "told")["told"]) == ["goes with it most, weakly"]


def test_a_past_alarm_says_that_it_is_past_and_keeps_its_notes(show_watch, read):
    page = show_watch(past=[made.alarm(NAME, state="closed")], words={"alarm": NAME})

    assert "This alarm is past" in read(page)
    assert headings(page) == ["What is being done about it"]


def test_an_alarm_that_is_not_there_is_told_as_typed(show_watch, read):
    page = show_watch(made.alarm(NAME), words={"alarm": "![x](y)"})

    assert "There is no alarm ![x](y)." in read(page)
    assert r"\!\[x\]" in page.info[0].value
    assert page.button(key="watch_all")


def test_no_alarm_is_an_answer_with_what_would_have_been_noticed(show_watch, read):
    page = show_watch(thin=[made.thin()] * 3)

    shown = read(page)
    assert "Nothing stands out: no alarm stands among 90 groups watched." in shown
    assert "87 of them are large enough" in shown
    assert "was noticed within a year" in shown
    assert not page.get("vega_lite_chart")


def test_filters_that_leave_no_alarm_say_so(show_watch, read):
    shown = read(show_watch(filters=Filters(component=("handle",))))

    assert "No alarm that stands has a case under these filters." in shown
    assert "Nothing stands out" not in shown


def test_a_fleet_that_cannot_be_watched_says_why_and_shows_the_rest(show_watch, read):
    page = show_watch(
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
