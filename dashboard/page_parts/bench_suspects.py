"""What the unit on the bench is likely to have, why, and what else to ask."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing import charts
from dashboard.page_parts import widgets
from dashboard.page_parts.bench_case import answer_symptom
from dashboard.page_parts.bench_now import like
from dashboard.page_parts.ink import show_chart
from dashboard.page_parts.like_link import link_like
from dashboard.queries.answer import Answer, Row
from dashboard.queries.suggest_reasons import reason_words
from ingest import catalogue


def show_suspects(page: str, answer: Answer) -> None:
    """Show likely faults with share, like cases and why; folded if little is known."""
    if not answer.more["enough_evidence"]:
        # No chart: bars would look like an answer.
        with st.expander("Shares all the same", key=f"{page}_shares"):
            st.markdown(
                "Too little is known to name a fault: the shares are not much more "
                "than how often each was confirmed."
            )
            st.markdown("\n".join(_line(row) for row in answer.rows))
            st.caption(str(answer.more["source"]))
        return
    st.header("Suspects")
    show_chart(
        charts.suspects_chart(answer.rows),
        key=f"{page}_chart",
        seen="Bars: share of each likely fault; the list below holds the numbers",
    )
    if answer.more["moved"]:
        st.markdown(str(answer.more["moved"]))
    for row in answer.rows:
        st.markdown(_line(row))
        link_like(row, f"{like(row)} of {row['label']}")
    st.caption(str(answer.more["source"]))


def _line(row: Row) -> str:
    critical = ", critical" if row["severity"] == "critical" else ""
    share = text.share(cast("float", row["probability"]), 1)
    return f"- **{row['label']}**{critical}: {share}, {like(row)}. {_why(row)}"


def show_to_ask(page: str, answer: Answer) -> None:
    """Show the symptoms that would tell most, each to be answered yes or no."""
    asks = cast("Sequence[Mapping[str, str]]", answer.more["ask_next"])
    if not asks:
        return
    st.header("What else to ask")
    for item in asks:
        with st.container(horizontal=True, vertical_alignment="center"):
            st.markdown(f"{item['label']}?")
            for name, label in (("symptom", "Yes"), ("not_symptom", "No")):
                st.button(
                    label,
                    key=f"{page}_ask_{name}_{item['symptom']}",
                    on_click=answer_symptom,
                    args=(name, item["symptom"]),
                )


def _why(row: Row) -> str:
    reasons = cast("Sequence[Row]", row["reasons"])
    if not row["against"]:
        return "Why: nothing else to compare with"
    against = catalogue.failure_modes()[str(row["against"])].label
    why = "; ".join(widgets.as_typed(reason_words(reason)) for reason in reasons)
    return f"Why, against {against}: {why or 'nothing but chance'}"
