"""Nothing found, or the vehicle: what the protocol asks before it may be said."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.advice.label_support import OUTSIDE_MODES
from dashboard.page_parts import bench_readings
from dashboard.page_parts.bench_noted import ask_what_no_reading_says, asked_of
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

DONE = ("met", "met_if")


def show_claim(page: str, answer: Answer) -> None:
    """Show what is left of the protocol, once asked what is to be said."""
    labels = catalogue.failure_modes()
    with st.expander("Nothing found?", key=f"{page}_nothing_found"):
        st.selectbox(
            "What is to be said",
            sorted(OUTSIDE_MODES),
            index=None,
            format_func=lambda code: labels[code].label,
            key=bench_readings.claim_key(page),
            placeholder="nothing yet",
        )
        protocol = cast("Row | None", answer.more["protocol"])
        if not protocol:
            st.markdown(
                "Neither is said by a likely share: the whole protocol must pass, or "
                "a reason is stated."
            )
            return
        st.text_input(
            "Said for another reason",
            key=bench_readings.reason_key(page),
            placeholder="only where the protocol is not done",
        )
        st.markdown(f"**{as_typed(_answer(protocol))}**")
        _show_left(protocol)
        # What was answered stays, so that the answer can be changed.
        ask_what_no_reading_says(page, asked_of([protocol]))


def _answer(protocol: Row) -> str:
    # What is left stands below as lists, for which one sentence would be too long.
    if protocol["state"] in DONE:
        return str(protocol["words"])
    if protocol["state"] == "by_reason":
        return f"{protocol['label']} for the reason stated, not by the protocol."
    return f"{protocol['label']} may not be said yet."


def _show_left(protocol: Row) -> None:
    checks = catalogue.checks()
    failed = [
        f"{checks[code].label} failed"
        for code in cast("Sequence[str]", protocol["failed"])
    ]
    not_met = [f"not so: {ask}" for ask in cast("Sequence[str]", protocol["not_met"])]
    for title, lines in (
        ("Speaks against it", [*failed, *not_met]),
        ("Not passed yet", cast("Sequence[str]", protocol["missing"])),
        (
            "To be repeated, for the likeliest faults",
            [checks[code].label for code in cast("Sequence[str]", protocol["repeat"])],
        ),
    ):
        if lines:
            listed = "\n".join(f"- {as_typed(line)}" for line in lines)
            st.markdown(f"{title}:\n\n{listed}")
