"""What keeps mains off the unit on the bench, in words."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard.page_parts import bench_readings, widgets
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

INSPECTION = "visual_inspection"


def show_gate(page: str, answer: Answer) -> None:
    """Show why no live check is offered, or that the gate is open."""
    gate = cast("Sequence[Row]", answer.more["gate"])
    st.header("Before mains")
    if answer.more["gate_is_open"]:
        st.markdown("Every gate check has passed and the unit was proved dead.")
        return
    st.markdown("No live check is offered:")
    st.markdown(
        "\n".join(
            f"- {widgets.as_typed(str(row['why']))}" for row in gate if row["why"]
        )
    )
    _ask_seen_to(page, answer)


def _ask_seen_to(page: str, answer: Answer) -> None:
    # A finding is seen to at the unit: nothing to note before it is proved dead.
    findings = catalogue.codes("findings")
    waiting = cast("Sequence[str]", answer.more["findings_open"])
    if not answer.more["proved_safe"] or answer.more["energised"]:
        return
    with st.container(horizontal=True):
        for finding in waiting:
            st.button(
                f"Seen to: {findings[finding].label}",
                key=f"{page}_seen_to_{finding}",
                on_click=bench_readings.note_outcome,
                args=(page, f"{INSPECTION}@{finding}", "pass"),
            )
