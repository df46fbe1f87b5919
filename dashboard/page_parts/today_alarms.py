"""Today, the alarms of recurring failures that nobody has taken up."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard.page_parts import widgets
from dashboard.page_parts.links import BY_ADDRESS, link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today import part

PAGE = "today"


def show_alarms(answer: Answer) -> None:
    """Show the new alarms as sentences and table, or why there are none."""
    st.header("New alarms of recurring failures")
    alarms = cast("Sequence[Row]", answer.more["alarms"])
    if answer.more["alarms_why_not"]:
        st.markdown(as_typed(str(answer.more["alarms_why_not"])))
        return
    if not alarms:
        st.markdown("None is new.")
    for row in alarms:
        st.markdown(f"- {as_typed(str(row['sentence']))}")
    if "watch" in BY_ADDRESS:
        link_to("watch", "Open the recurring failures")
    if not alarms:
        return
    widgets.show_table(
        alarms,
        {
            "failure": "failure",
            "where": "where",
            "since": "since",
            "n_cases": "failures",
            "expected": st.column_config.NumberColumn("expected", format="%.1f"),
            "ratio": st.column_config.NumberColumn("ratio", format="%.2f"),
            "low": st.column_config.NumberColumn("95 % from", format="%.2f"),
            "high": st.column_config.NumberColumn("to", format="%.2f"),
            "state": "state",
        },
        key=f"{PAGE}_alarms",
        what="New alarms with failures observed and expected, ratio and interval",
    )
    widgets.offer_files(
        PAGE,
        part(answer, "alarms"),
        words=answer.filters.stated(),
        table=f"{PAGE}-alarms",
    )
