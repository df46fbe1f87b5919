"""Page: how good the suggestions are."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.page_parts import suggestions_few, suggestions_shown, widgets
from dashboard.page_parts.suggestions_fared import show_fared
from dashboard.queries.answer import Answer
from dashboard.queries.suggestion_report import METHOD, suggestion_report
from dashboard.queries.suggestion_report_fared import suggestions_fared
from dashboard.queries.suggestion_report_parts import part


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
        fared = suggestions_fared(snapshot, Filters())
        show_fared(suggestions_shown.PAGE, fared, _texts(fared, "sentences"))
        widgets.tell_left_out(METHOD.split(". "))
        return
    suggestions_shown.tell_answer(answer)
    suggestions_shown.show_measures(answer)
    show_fared(
        suggestions_shown.PAGE, part(answer, "fared"), _texts(answer, "fared_sentences")
    )
    suggestions_shown.show_calibration(answer)
    suggestions_shown.show_coverage(answer)
    suggestions_shown.show_modes(answer)
    suggestions_shown.show_months(answer)
    suggestions_shown.tell_assumed(answer)


def _texts(answer: Answer, name: str) -> Sequence[str]:
    return cast("Sequence[str]", answer.more[name])


widgets.show_page("How good are the suggestions?", body)
