"""Page: how good the suggestions are."""

import streamlit as st

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.page_parts import suggestions_few, suggestions_shown, widgets
from dashboard.queries.answer import Answer
from dashboard.queries.suggestion_report import METHOD, suggestion_report


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Reading the scores")
def ask(snapshot: str, _snapshot: Snapshot) -> Answer:
    """Return the answer, once for each snapshot."""
    del snapshot  # it is the key
    return suggestion_report(_snapshot, Filters())


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    try:
        answer = ask(snapshot.about.snapshot, snapshot)
    except InsufficientDataError as error:
        suggestions_few.tell_too_few(error)
        widgets.tell_left_out(METHOD.split(". "))
        return
    suggestions_shown.tell_answer(answer)
    suggestions_shown.show_measures(answer)
    suggestions_shown.show_calibration(answer)
    suggestions_shown.show_coverage(answer)
    suggestions_shown.show_modes(answer)
    suggestions_shown.show_months(answer)
    suggestions_shown.tell_assumed(answer)


widgets.show_page("How good are the suggestions?", body)
