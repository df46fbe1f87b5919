"""What keeps mains off the unit on the bench, in words, and what was noted so far."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import bench_readings, widgets
from dashboard.queries.answer import Answer, Row
from dashboard.queries.typed_readings import OUTCOMES
from ingest import catalogue

INSPECTION = "visual_inspection"
SHOWN = {"pass": "passed", "fail": "failed", "not_done": "not done"}


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


def show_noted(page: str, answer: Answer) -> None:
    """Show the checks noted for this unit, each with its verdict."""
    readings = cast("Sequence[Row]", answer.more["readings"])
    if not readings:
        return
    st.header("Checks noted for this unit")
    for row in readings:
        st.markdown(f"- {_noted(row)}")
    for verdict in cast("Sequence[Row]", answer.more["verdicts"]):
        st.markdown(
            f"- **{verdict['label']}:** {widgets.as_typed(str(verdict['words']))}"
        )
    with st.container(horizontal=True):
        st.button(
            "Take the last one back",
            key=f"{page}_take_back",
            on_click=bench_readings.take_back,
            args=(page,),
        )
        st.button(
            "Opened, repaired or powered again: start over",
            key=f"{page}_start_over",
            on_click=bench_readings.forget_readings,
            args=(page,),
            kwargs={"because": "The unit was worked on"},
        )
    st.caption("On this screen only: gone with a reload, another unit or another day.")


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


def _noted(row: Row) -> str:
    label = catalogue.checks()[str(row["check"])].label
    point = str(row["point"] or "")
    known = catalogue.codes("findings")
    at = f" at {known[point].label if point in known else point}" if point else ""
    states = catalogue.codes("conditions")
    how = f", {states[str(row['condition'])].label.lower()}" if row["condition"] else ""
    typed = row["value"] not in OUTCOMES
    value = f" {row['value']} {row['unit']}," if typed else ""
    outcome = SHOWN.get(str(row["outcome"]), text.words(str(row["outcome"])))
    return (
        f"{label}{widgets.as_typed(at + how)}:{widgets.as_typed(value)} "
        f"**{outcome}**. {widgets.as_typed(str(row['meaning']))}"
    )
