"""Today, the open work: how much waits for what, and for how long."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard.drawing import pictures
from dashboard.drawing.charts_work import open_work_chart
from dashboard.page_parts import widgets
from dashboard.page_parts.ink import show_chart
from dashboard.page_parts.links import link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today import part
from dashboard.queries.today_words import state_sentence

PAGE = "today"


def show_work(answer: Answer) -> None:
    """Show the open work by age as sentences, chart and tables."""
    st.header("Open work by age")
    states = cast("Sequence[Row]", answer.more["work_states"])
    for row in states:
        st.markdown(as_typed(state_sentence(row)))
    oldest = [row for row in states if row["oldest_case_id"]]
    if not oldest:
        return
    with st.container(horizontal=True):
        for row in oldest:
            case_id = str(row["oldest_case_id"])
            link_to("case", f"Open the oldest {row['label']}", {"case_id": case_id})
    bands = cast("Sequence[Row]", answer.more["open_work"])
    chart = open_work_chart(bands)
    title = "Returns that are not closed, by how long they have waited"
    st.markdown(f"**{title}**")
    show_chart(
        chart,
        key=f"{PAGE}_work_chart",
        seen="Bars: open returns by age; the table below holds the numbers",
    )
    widgets.show_table(
        bands,
        {"label": "open work", "band": "for", "n_cases": "returns"},
        key=f"{PAGE}_work",
        what="Open returns by state and age",
    )
    _offer(answer, "work", pictures.Picture(chart, title))
    st.markdown("**How long each step takes**")
    widgets.show_table(
        states,
        {
            "label": "open work",
            "n_cases": "returns now",
            "median_days": "half for at least (days)",
            "oldest_days": "oldest (days)",
            "oldest_case_id": "oldest return",
            "step_median_days": "usually half are through within (days)",
            "low": "95 % from",
            "high": "to",
            "n_done": "through, last 365 days",
            "n_going": "still in it",
        },
        key=f"{PAGE}_steps",
        what="Open returns and the usual duration of each step, with intervals",
    )
    _offer(answer, "steps")


def _offer(answer: Answer, name: str, picture: pictures.Picture | None = None) -> None:
    widgets.offer_files(
        PAGE,
        part(answer, name),
        words=answer.filters.stated(),
        table=f"{PAGE}-{name}",
        picture=picture,
    )
