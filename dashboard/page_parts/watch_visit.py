"""Recurring failures: what is new since the last visit."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts.watch_list import named
from dashboard.page_parts.watch_shown import Watched
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.watch_seen import new_alarms
from dashboard.visits import COOKIE, shown_before

NAMED = 3


def tell_new(shown: Watched, snapshot: Snapshot) -> None:
    """Name the alarms that the figures of the last visit did not have.

    Nothing is said at a first visit, or where the figures seen then are gone.
    """
    cookie = str(st.context.cookies.get(COOKIE, ""))
    seen = shown_before(cookie, snapshot.about.snapshot)
    new = new_alarms(snapshot, seen, shown.answer.rows) if seen else None
    if new is None:
        return
    when = f"Since your last visit (figures published on {new.published_on}, as of "
    when += f"{new.as_of})"
    if not new.rows:
        st.markdown(f"{when}: no new alarm.")
        return
    names = "; ".join(as_typed(named(row)) for row in new.rows[:NAMED])
    rest = len(new.rows) - NAMED
    more = f"; and {text.count(rest)} more" if rest > 0 else ""
    st.markdown(f"{when}: {text.counted(len(new.rows), 'new alarm')}: {names}{more}.")
