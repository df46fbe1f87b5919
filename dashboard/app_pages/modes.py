"""Page: which failures were confirmed, and how often."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.page_parts import (
    modes_counts,
    modes_groups,
    modes_pairs,
    modes_time,
    widgets,
)
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.page_parts.modes_shown import PAGE, Counted
from dashboard.page_parts.today_changes import tell_change
from dashboard.queries.answer import Answer
from dashboard.queries.frequencies_words import commonest_sentence
from dashboard.queries.modes import modes


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Counting failures")
def ask(snapshot: str, filters: str, _snapshot: Snapshot, _filters: Filters) -> Answer:
    """Return the answer, once for each snapshot and choice."""
    del snapshot, filters  # they are the key
    return modes(_snapshot, _filters)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    filters = chosen_filters(PAGE, snapshot, days="Day of receipt")
    tell_change(snapshot, filters)
    key = filters.model_dump_json()
    counted = Counted(ask(snapshot.about.snapshot, key, snapshot, filters))
    others = [row for row in counted.answer.rows if not row["is_failure"]]
    if not counted.n("n_received"):
        widgets.tell_no_return(filters)
        return
    said = commonest_sentence(counted.answer.rows)
    if counted.n("n_failures"):
        widgets.tell_answer(said)
    else:
        st.info(said)
    st.markdown(modes_counts.apart_sentence(counted, others))
    for note in counted.rows("notes"):
        st.warning(widgets.as_typed(str(note)))
    if counted.answer.rows:
        _show_evidence(counted)
    _tell_left_out(counted)


def _show_evidence(counted: Counted) -> None:
    modes_counts.show_modes(counted)
    modes_counts.show_subjects(counted)
    modes_time.show_change(counted)
    st.header("Looked at more closely")
    modes_time.show_months(counted)
    modes_groups.show_groups(counted)
    modes_groups.show_shipped(counted)
    modes_pairs.show_pairs(counted)
    modes_pairs.show_repeats(counted)


def _tell_left_out(counted: Counted) -> None:
    n_open, n_repeats, n_unknown = (
        text.count(counted.n(name))
        for name in ("n_open", "n_repeats", "n_unknown_serial")
    )
    basis = counted.row("rate_basis")
    widgets.tell_left_out(
        [
            counted.answer.method,
            f"Open, so without a confirmed mode: {n_open} cases.",
            f"Returns of units that were here before: {n_repeats}, counted.",
            (
                f"Returns of units not in the register: {n_unknown}, counted; under a "
                "filter of units they are left out."
            ),
            (
                "A share says how often a mode was found among returns, not how often "
                "units in the field have it; a rate does."
            ),
            str(basis["sentence"]),
            *(str(sentence) for sentence in _listed(basis["sentences"])),
        ]
    )


def _listed(value: object) -> list[object]:
    return list(value) if isinstance(value, list | tuple) else []


widgets.show_page("Which failures were confirmed, and how often?", body)
