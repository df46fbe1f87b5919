"""Today, what changed against the figures published before, in two tables."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard.page_parts import widgets
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today import part

PAGE = "today"
COUNTS = {"now": "now", "before": "before", "difference": "difference"}


def show_changed(answer: Answer) -> None:
    """Show the counts that changed, or say why nothing can be compared."""
    st.header("What changed since the figures published before")
    rows = cast("Sequence[Row]", answer.more["changes"])
    if not rows:
        st.markdown(as_typed(str(answer.more["change"])))
        return
    widgets.show_table(
        # Counts and days in one column: both as text.
        [
            row | {n: "" if row[n] is None else str(row[n]) for n in COUNTS}
            for row in rows
        ],
        {"label": "what", **COUNTS},
        key=f"{PAGE}_changes",
        what="Units, returns, confirmed cases and days, now and before",
    )
    _offer(answer, "changes")
    modes = cast("Sequence[Row]", answer.more["changed_modes"])
    if modes:
        st.markdown("**Modes confirmed more or less often**")
        widgets.show_table(
            modes,
            {"label": "failure mode", **COUNTS},
            key=f"{PAGE}_modes",
            what="Confirmed cases by mode, now and before",
        )
        _offer(answer, "modes")


def _offer(answer: Answer, name: str) -> None:
    widgets.offer_files(
        PAGE,
        part(answer, name),
        words=answer.filters.stated(),
        table=f"{PAGE}-{name}",
    )
