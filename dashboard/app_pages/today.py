"""Page: what needs attention today."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.page_parts import (
    today_alarms,
    today_changed,
    today_critical,
    today_work,
    widgets,
)
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.page_parts.today_changes import tell_change
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer
from dashboard.queries.today import today
from dashboard.settings import Place

PAGE = "today"


@st.cache_data(
    max_entries=widgets.REMEMBERED, ttl=60, show_spinner="Looking for critical cases"
)
def ask(snapshot: str, filters: str, _place: Place, _filters: Filters) -> Answer:
    """Return the answer, kept a minute: what is done about an alarm may change."""
    del snapshot, filters  # they are the key
    return today(_place, _filters)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    filters = chosen_filters(PAGE, snapshot, days="Day of receipt")
    tell_change(snapshot, filters)
    place = place_in_use()
    # The same figures in another folder have other figures before them.
    key = f"{place.data.resolve()} {snapshot.about.snapshot}"
    answer = ask(key, filters.model_dump_json(), place, filters)
    st.markdown(f"**Caution.** {answer.more['caution']}")
    today_critical.show_critical(answer)
    today_work.show_work(answer)
    today_alarms.show_alarms(answer)
    today_changed.show_changed(answer)
    today_critical.tell_left_out(answer)


widgets.show_page("What needs attention today?", body)
