"""Recurring failures: one alarm, its evidence month by month and what it rests on."""

from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing import charts_watch
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import watch_cases, watch_notes, watch_units, widgets
from dashboard.page_parts.watch_list import go_to, named, open_alarm
from dashboard.page_parts.watch_shown import (
    PAGE,
    Watched,
    draw,
    estimate,
    failed_cases,
    span,
)
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Row

READS_HIGH = (
    "Just after an alarm the ratio tends to read high; its interval covers about 80 "
    "to 94 %. The months after the alarm alone tell the size better."
)
EVIDENCE = (
    "Evidence: how much better an excess explains the last 3, 6 or 12 months than "
    "chance does (natural logarithm of the likelihood ratio); a month without a "
    "failure has none. An alarm is raised where it reaches the threshold, which rests "
    "on simulations of this fleet with nothing recurring. Hollow: month not complete."
)


def show_alarm(shown: Watched, alarm: str) -> None:
    """Show one alarm, or that there is none of that name.

    Parameters
    ----------
    shown : Watched
    alarm : str
        Its id, as in the address.
    """
    row = next((row for row in shown.answer.rows if row["alarm"] == alarm), None)
    past = next((row for row in shown.rows("past") if row["alarm"] == alarm), None)
    found = row or past
    if found is None:
        under = shown.answer.filters.under
        st.info(as_typed(f"There is no alarm {alarm}{under}."))
        st.markdown("Go back to all alarms, or leave a filter out.")
        return
    widgets.tell_answer(as_typed(str(found["sentence"])))
    _tell_state(shown, found)
    _tell_ratio(found)
    _tell_also(found)
    if row is None:
        st.markdown(
            "This alarm is past: its months and cases are shown while an alarm stands."
        )
        _show_earlier(found)
        watch_notes.show_notes(found)
        return
    _show_evidence(shown, row)
    watch_cases.show_shared(shown, row)
    watch_cases.show_lots(shown, row)
    watch_cases.show_cases(shown, row)
    watch_units.show_units(shown, row)
    watch_notes.show_notes(row)
    _show_earlier(row)


def _tell_state(shown: Watched, row: Row) -> None:
    parts = [
        f"state: {text.words(str(row['state']))}",
        f"severity: {row['severity']}",
        f"first seen on {row['first_seen_on']}"
        if row["first_seen_on"]
        else "not yet kept in the store",
    ]
    if shown.is_new(row):
        parts.append("not in the figures published before")
    st.caption(" · ".join(parts))


def _tell_ratio(row: Row) -> None:
    st.markdown(
        f"From {row['since']}, where the excess most likely began, to {row['alarmed']} "
        f"the group failed {estimate(row, 'ratio')} times as often as expected (95 % "
        f"interval {span(row)}). {READS_HIGH}"
    )


def _tell_also(row: Row) -> None:
    also = cast("list[Row]", row["also"])
    if also:
        others = "; ".join(named(other) for other in also)
        st.markdown(as_typed(f"The same cases also raised: {others}."))


def _show_evidence(shown: Watched, row: Row) -> None:
    alarm = str(row["alarm"])
    series = shown.of("series", alarm)
    counts, evidence = pictures_of(shown, row)
    draw(
        counts,
        key="counts",
        seen="Bars: failures a month observed; line: expected; the table below the "
        "second chart holds the numbers",
    )
    shown.offer_chart(counts, name=f"{PAGE}-months")
    draw(
        evidence,
        key="evidence",
        seen="Points: evidence by month; dashed line: threshold; the table below "
        "holds the numbers",
    )
    widgets.show_table(
        [
            month | {"complete": "complete" if month["is_complete"] else "not complete"}
            for month in reversed(series)
        ],
        {
            "month": "month of failure",
            "observed": "observed",
            "expected": st.column_config.NumberColumn("expected", format="%.2f"),
            "evidence": st.column_config.NumberColumn("evidence", format="%.2f"),
            "threshold": st.column_config.NumberColumn("threshold", format="%.2f"),
            "complete": "counted as",
        },
        key=f"{PAGE}_series",
        what="Months of the alarm with failures observed, expected, evidence and "
        "threshold, newest first",
    )
    shown.offer("series", alarm=alarm, picture=evidence)


def pictures_of(shown: Watched, row: Row) -> tuple[Picture, Picture]:
    """Return both charts of an alarm: the failures, and the evidence."""
    series = shown.of("series", str(row["alarm"]))
    last = len(charts_watch.drawn_months(series))
    return (
        Picture(
            charts_watch.counts_chart(series, row),
            f"Failures a month: {failed_cases(row)} in {row['window_months']} months",
            f"{named(row)}. The last {last} months. Expected: by age and mode, from "
            "the group's own past and its siblings, lowered where a month is not "
            "complete.",
        ),
        Picture(
            charts_watch.evidence_chart(series, row),
            f"Evidence reached {estimate(row, 'evidence')} in {row['alarmed']} by "
            f"today's figures; the threshold is {estimate(row, 'threshold')}",
            EVIDENCE,
        ),
    )


def _show_earlier(row: Row) -> None:
    earlier = cast("list[Row]", row["earlier"])
    if not earlier:
        return
    st.header("Earlier alarms of this group")
    for alarm in earlier:
        state = text.words(str(alarm["state"]))
        note = f": {as_typed(str(alarm['note']))}" if alarm.get("note") else ""
        open_alarm(row | {"alarm": alarm["alarm"]})
        st.markdown(f"alarm {alarm['alarmed']}, {state}{note}")


def show_way_back() -> None:
    """Show the way up to all alarms."""
    st.button("← All alarms", key=f"{PAGE}_all", on_click=go_to, args=(None,))
