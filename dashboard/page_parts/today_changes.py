"""What changed since the figures published before: one line for every report page."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.page_parts.widgets import REMEMBERED, as_typed
from dashboard.queries.today_changes import changes, without_days


def tell_change(
    snapshot: Snapshot, filters: Filters, *, days_of_receipt: bool = True
) -> None:
    """Write what changed since the figures published before, in one grey line.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        Of the page.
    days_of_receipt : bool, default True
        False on pages about units: their first and last day mean something else, and
        all days of receipt are counted.
    """
    meant = filters if days_of_receipt else without_days(filters)
    about = snapshot.about
    # The same figures in another folder may have others before them.
    key = f"{about.snapshot} {about.previous}"
    st.caption(as_typed(_sentence(key, meant.model_dump_json(), snapshot, meant)))


@st.cache_data(max_entries=REMEMBERED, show_spinner=False)
def _sentence(
    snapshot: str, filters: str, _snapshot: Snapshot, _filters: Filters
) -> str:
    del snapshot, filters  # they are the key
    return changes(_snapshot, _filters).sentence
