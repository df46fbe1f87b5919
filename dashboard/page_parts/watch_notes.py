"""Recurring failures: what is being done about an alarm, read and noted."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts.watch_shown import PAGE
from dashboard.page_parts.widgets import as_typed
from dashboard.place import place_in_use
from dashboard.queries.answer import Row
from dashboard.queries.watch_notes import STATES, note, notes
from ingest.errors import UserError

LONGEST = 2000  # characters
TOLD = f"{PAGE}_told"
NUMBER = f"{PAGE}_notes_made"


def show_notes(row: Row) -> None:
    """Show the notes of an alarm, newest first, and a form to add one."""
    st.header("What is being done about it")
    told = st.session_state.pop(TOLD, None)
    if told:
        st.info(str(told))
    _show_kept(row)
    if not row["first_seen_on"]:
        st.markdown(
            "The store does not hold this alarm yet, because it was busy at the "
            "publish: run `mendfleet publish` again to note something."
        )
        return
    _show_form(row)


def _show_kept(row: Row) -> None:
    alarm = str(row["alarm"])
    members = cast("Sequence[str]", row.get("members", [alarm]))
    try:
        kept = notes(place_in_use(), members)
    except UserError as error:
        st.error(as_typed(error.message))
        return
    if not kept:
        st.markdown("Nobody has noted anything yet.")
    for said in kept:
        words = f": {as_typed(str(said['text']))}" if said["text"] else ""
        day = f"{said['noted_at']}"[:16]
        of = "" if said["alarm"] == alarm else f" (of alarm {said['alarm']})"
        st.markdown(f"- {day} UTC, **{text.words(str(said['state']))}**{of}{words}")


def _show_form(row: Row) -> None:
    alarm = str(row["alarm"])
    # A new form after each note: what was typed stays only while it is not kept.
    number = st.session_state.get(NUMBER, 0)
    with st.form(f"{PAGE}_note_{alarm}_{number}"):
        state = st.selectbox(
            "State",
            STATES,
            index=list[str](STATES).index(str(row["state"])),
            format_func=text.words,
            key=f"{PAGE}_state_{alarm}_{number}",
        )
        said = st.text_area(
            "What was found or done",
            max_chars=LONGEST,
            help="Needed to close an alarm. Names of persons do not belong here.",
            key=f"{PAGE}_said_{alarm}_{number}",
        )
        is_sent = st.form_submit_button("Keep this note")
    if is_sent:
        _keep(alarm, str(state), said)


def _keep(alarm: str, state: str, said: str) -> None:
    try:
        kept = note(place_in_use(), alarm, state, said)
    except UserError as error:
        st.error(as_typed(error.message))
        return
    masked = "" if (kept.text or "") == said.strip() else " Personal data were masked."
    st.session_state[TOLD] = f"Noted: {text.words(kept.state)}.{masked}"
    st.session_state[NUMBER] = st.session_state.get(NUMBER, 0) + 1
    st.rerun()
