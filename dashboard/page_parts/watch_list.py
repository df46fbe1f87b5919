"""Recurring failures: the answer, and a row for each alarm that stands."""

from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing.charts_watch import spark_chart
from dashboard.page_parts import widgets
from dashboard.page_parts.ink import show_chart
from dashboard.page_parts.watch_shown import (
    EXPECTED,
    HIGH,
    LOW,
    PAGE,
    RATIO,
    Watched,
    estimate,
    failed_cases,
    span,
)
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Row
from dashboard.queries.watch_parts import ALARM

SHOWN = 20  # rows with a chart of their own; the table holds all
# Share of doublings found within a year on simulated fleets of 50 and 500 groups, at
# 24 failures expected a year, and months until half were found at 120 a year.
NOTICED = (
    "On simulated fleets a doubling in a group with 24 failures a year was noticed "
    "within a year in 55 to 100 % of the runs, in a group with 120 a year within about "
    "3 months; in a group with 6 a year mostly not."
)


def tell_answer(shown: Watched) -> None:
    """Write how many alarms stand, how many are new, and the setting beside it."""
    widgets.tell_answer(answer_sentence(shown))
    st.markdown(
        f"Set to about {shown.per_year} false alarms a year over the whole fleet: "
        "about so many are raised though nothing recurs. An alarm is an association, "
        "no verdict on anybody."
    )


def answer_sentence(shown: Watched) -> str:
    """Return the answer to the question of the page."""
    rows = shown.answer.rows
    if not rows:
        fleet = shown.row("fleet")
        n_groups = cast("int", fleet["n_groups"])
        large = text.count(n_groups - len(shown.rows("thin")))
        quiet = (
            "No alarm stands" if shown.young else "Nothing stands out: no alarm stands"
        )
        return (
            f"{quiet} among "
            f"{text.counted(n_groups, 'group')} watched. {large} of them are large "
            "enough that a doubling would probably be noticed within a year."
        )
    n_critical = sum(row["severity"] == "critical" for row in rows)
    critical = f", {text.count(n_critical)} of a critical failure" if n_critical else ""
    n_new = sum(shown.is_new(row) for row in rows)
    about = shown.answer.about
    before = (
        f"{text.count(n_new)} not in the figures published before, "
        if about and about.previous
        else ""
    )
    return (
        f"{text.counted(len(rows), 'alarm')} {'stands' if len(rows) == 1 else 'stand'}"
        f"{critical}; {before}{text.count(shown.n('n_new'))} not taken up by anybody "
        f"yet. The most urgent: {as_typed(named(rows[0]))}."
    )


def tell_caveats(shown: Watched) -> None:
    """Write what a reader must know about these records."""
    for sentence in cast("list[str]", shown.answer.more["sentences"]):
        st.markdown(f"- {as_typed(sentence)}")


def show_list(shown: Watched) -> None:
    """Show a row for each alarm, with its months and the way to its evidence."""
    rows = shown.answer.rows
    st.header("Alarms that stand, the most urgent first")
    if not rows:
        st.markdown(NOTICED)
        return
    st.caption(
        "Small charts: failures in the last 24 months, bars observed, line expected. "
        "Expected: from the group's own past and its siblings. Each name opens the "
        "evidence."
    )
    for row in rows[:SHOWN]:
        _show_row(shown, row)
    if len(rows) > SHOWN:
        st.markdown(f"The table holds all {text.count(len(rows))}.")
    _show_table(shown)
    shown.offer()


def _show_row(shown: Watched, row: Row) -> None:
    alarm = str(row["alarm"])
    words, months = st.columns([7, 3], vertical_alignment="center")
    with words:
        open_alarm(row)
        st.markdown(f"{_standing(shown, row)}  \n{as_typed(numbers(row))}")
    with months:
        show_chart(
            spark_chart(cast("list[Row]", row["months"])),
            key=f"{PAGE}_spark_{alarm}",
            seen=f"Failures a month of alarm {alarm}: observed as bars, expected as a "
            "line; the evidence holds the numbers",
        )


def open_alarm(row: Row) -> None:
    """Show the way to the evidence of an alarm; the filters stay chosen."""
    alarm = str(row["alarm"])
    # Not a link: one to the page itself leaves the address as it is.
    st.button(
        f"{as_typed(named(row))} →",
        key=f"{PAGE}_open_{alarm}",
        on_click=go_to,
        args=(alarm,),
    )


def go_to(alarm: str | None) -> None:
    """Write to the address which alarm is shown, or that all are."""
    if alarm is None:
        st.query_params.pop(ALARM, None)
    else:
        st.query_params[ALARM] = alarm


def named(row: Row) -> str:
    """Return what an alarm is about: the failure, and where."""
    return f"{row['failure']}, {row['where']}"


def _standing(shown: Watched, row: Row) -> str:
    parts = [
        f"**{text.words(str(row['state']))}**",
        f"{'**critical**' if row['severity'] == 'critical' else row['severity']}",
    ]
    if shown.is_new(row):
        parts.append("not in the figures published before")
    if row["note"]:
        parts.append(f"noted {row['noted_on']}: {as_typed(str(row['note']))}")
    return " · ".join(parts)


def numbers(row: Row) -> str:
    """Return the numbers of an alarm in one line."""
    return (
        f"began about {row['since']}, alarm {row['alarmed']} · {failed_cases(row)} in "
        f"{row['window_months']} months · ratio {estimate(row, 'ratio')} "
        f"(95 % interval {span(row)})"
    )


def _show_table(shown: Watched) -> None:
    widgets.show_table(
        [row | {"state": text.words(str(row["state"]))} for row in shown.answer.rows],
        {
            "state": "state",
            "severity": "severity",
            "failure": st.column_config.TextColumn("failure", width="medium"),
            "where": "where",
            "since": "began about",
            "n_cases": "cases",
            "expected": EXPECTED,
            "ratio": RATIO,
            "low": LOW,
            "high": HIGH,
            "window_months": "in months",
            "alarmed": "alarm in",
            "evidence": st.column_config.NumberColumn("evidence", format="%.2f"),
            "threshold": st.column_config.NumberColumn("threshold", format="%.2f"),
            "times_per_year": st.column_config.NumberColumn(
                "by chance a year", format="%.2f"
            ),
            "first_seen_on": "first seen on",
            "alarm": "alarm",
        },
        key=f"{PAGE}_table",
        what="Alarms that stand with cases, expected, ratio, interval and evidence",
    )
