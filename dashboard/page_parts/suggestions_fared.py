"""The report about suggestions: how those kept for open cases fared."""

from collections.abc import Sequence

import streamlit as st

from dashboard.page_parts import widgets
from dashboard.queries.answer import Answer
from dashboard.queries.suggestion_report_fared_words import fared_cells

TABLE = "suggestions-fared"


def show_fared(page: str, answer: Answer, sentences: Sequence[str]) -> None:
    """Show what became of the suggestions kept, beside the scores made afterwards.

    Parameters
    ----------
    page : str
        Address of the page.
    answer : Answer
        The table alone.
    sentences : sequence of str
    """
    st.header("How did suggestions fare that were given before the cause was known?")
    st.markdown("\n".join(f"- {sentence}" for sentence in sentences))
    widgets.show_table(
        [fared_cells(row) for row in answer.rows],
        {
            "label": st.column_config.TextColumn("measure", width="medium"),
            "value": "value",
            "interval": "95 % interval",
            "n": "cases",
            "n_of": "of cases",
            "afterwards": "scored afterwards",
            "afterwards_interval": "its 95 % interval",
            "afterwards_n_of": "its cases",
        },
        key=f"{page}_fared",
        what="How suggestions kept for open cases fared, with intervals and counts, "
        "beside the same measure on confirmed cases afterwards",
    )
    widgets.offer_files(page, answer, words={}, table=TABLE)
