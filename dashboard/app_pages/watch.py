"""Page: which failures recur more than they should."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.page_parts import (
    watch_alarm,
    watch_list,
    watch_rest,
    watch_trust,
    watch_visit,
    widgets,
)
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.page_parts.today_changes import tell_change
from dashboard.page_parts.watch_shown import PAGE, Watched
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer
from dashboard.queries.watch import watch
from dashboard.queries.watch_parts import ALARM
from dashboard.settings import Place


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Reading the watch")
def ask(
    snapshot: str, filters: str, kept: str, _place: Place, _filters: Filters
) -> Answer:
    """Return the answer, once for each snapshot, choice and state of the store."""
    del snapshot, filters, kept  # they are the key
    return watch(_place, _filters)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    about, place = snapshot.about, place_in_use()
    widgets.tell_basis(about)
    filters = chosen_filters(PAGE, snapshot, days="Day of receipt", besides=(ALARM,))
    tell_change(snapshot, filters)
    kept = widgets.state_of_store(place)
    shown = Watched(
        ask(about.snapshot, filters.model_dump_json(), kept, place, filters)
    )
    alarm = str(st.query_params.get(ALARM, "")).strip()
    if alarm:
        watch_alarm.show_way_back()
        watch_alarm.show_alarm(shown, alarm)
    else:
        watch_visit.tell_new(shown, snapshot)
        _show_all(shown)
    watch_trust.tell_left_out(shown)


def _show_all(shown: Watched) -> None:
    if shown.answer.more["can_watch"]:
        _show_alarms(shown)
    else:
        st.info(widgets.as_typed(str(shown.answer.more["why_not"])))
        st.markdown(
            "Until then *Failure modes* counts what was confirmed; what follows needs "
            "no watch."
        )
    watch_rest.show_early(shown)
    watch_rest.show_repeats(shown)
    if shown.answer.more["can_watch"]:
        watch_rest.show_thin(shown)
        watch_rest.show_past(shown)
        watch_trust.show_families(shown)
    watch_trust.show_trust(shown)


def _show_alarms(shown: Watched) -> None:
    if shown.answer.filters.stated() and not shown.answer.rows:
        st.info("No alarm that stands has a case under these filters.")
        st.markdown("Leave a filter out: the watch is set for the whole fleet.")
        return
    watch_list.tell_answer(shown)
    watch_rest.tell_young(shown)
    watch_list.tell_caveats(shown)
    watch_list.show_list(shown)


widgets.show_page("Which failures recur?", body)
