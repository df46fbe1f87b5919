"""Page: whether the data can be trusted."""

from collections.abc import Mapping
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.page_parts import (
    quality_labels,
    quality_lateness,
    quality_rows,
    quality_trust,
    widgets,
)
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.page_parts.today_changes import tell_change
from dashboard.queries.answer import Answer
from dashboard.queries.quality import left_out, quality

PAGE = "quality"


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Counting rows")
def ask(snapshot: str, filters: str, _snapshot: Snapshot, _filters: Filters) -> Answer:
    """Return the answer, once for each snapshot and choice."""
    del snapshot, filters  # they are the key
    return quality(_snapshot, _filters)


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner=False)
def ask_left_out(snapshot: str, _snapshot: Snapshot) -> Answer:
    """Return the units without life data, once for each snapshot."""
    del snapshot  # it is the key
    return left_out(_snapshot)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    about = snapshot.about
    widgets.tell_basis(about)
    filters = chosen_filters(PAGE, snapshot, days="Day of receipt")
    tell_change(snapshot, filters)
    answer = ask(about.snapshot, filters.model_dump_json(), snapshot, filters)
    if not answer.more["files"]:
        st.info("These figures rest on no file.")
        return
    if filters.stated():
        st.caption(
            "The filters choose cases: they change which modes are proved and how late "
            "reports come in, not what happened to the rows of a file."
        )
    quality_rows.tell_answer(answer)
    quality_trust.tell_attention(answer)
    quality_rows.show_problems(answer)
    quality_rows.show_files(answer)
    quality_rows.show_set_aside()
    quality_rows.show_waiting(answer)
    quality_labels.show_labels(answer)
    quality_lateness.show_lateness(answer)
    quality_trust.show_spelling(answer)
    quality_trust.show_questions(answer)
    counts = cast("Mapping[str, int]", answer.more["left_out"])
    quality_rows.show_left_out(
        counts,
        cast("int", answer.more["n_unknown_serial"]),
        ask_left_out(about.snapshot, snapshot),
    )
    widgets.tell_left_out(answer.method.split(". "))


widgets.show_page("Can the data be trusted?", body)
