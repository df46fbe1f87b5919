"""Today, the alarms of recurring failures that nobody has taken up."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import current_snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.page_parts import widgets
from dashboard.page_parts.links import BY_ADDRESS, link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.place import place_in_use
from dashboard.queries.alarm_units import alarm_units
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today import part
from dashboard.queries.today_words import no_new_alarm
from dashboard.settings import Place

PAGE = "today"


def show_alarms(answer: Answer) -> None:
    """Show the new alarms as sentences and table, or why there are none."""
    st.header("New alarms of recurring failures")
    alarms = cast("Sequence[Row]", answer.more["alarms"])
    if answer.more["alarms_why_not"]:
        st.markdown(as_typed(str(answer.more["alarms_why_not"])))
        return
    if not alarms:
        st.markdown(no_new_alarm(answer.filters))
    for row in alarms:
        st.markdown(f"- {as_typed(str(row['sentence']))}")
    if "watch" in BY_ADDRESS:
        link_to("watch", "Open the recurring failures")
    if not alarms:
        return
    widgets.show_table(
        alarms,
        {
            "failure": "failure",
            "where": "where",
            "since": "since",
            "n_cases": "failures",
            "expected": st.column_config.NumberColumn("expected", format="%.1f"),
            "ratio": st.column_config.NumberColumn("ratio", format="%.2f"),
            "low": st.column_config.NumberColumn("95 % from", format="%.2f"),
            "high": st.column_config.NumberColumn("to", format="%.2f"),
            "state": "state",
        },
        key=f"{PAGE}_alarms",
        what="New alarms with failures observed and expected, ratio and interval",
    )
    words = answer.filters.stated()
    widgets.offer_files(
        PAGE, part(answer, "alarms"), words=words, table=f"{PAGE}-alarms"
    )
    _offer_units(answer.filters)


@st.cache_data(max_entries=8, ttl=60, show_spinner="Looking for units alike")
def _units(key: str, _place: Place, _filters: Filters) -> Answer:
    del key
    return alarm_units(_place, _filters)


def _offer_units(filters: Filters) -> None:
    place = place_in_use()
    about = current_snapshot(place.published).about
    key = f"{place.data.resolve()} {about.snapshot} {filters.model_dump_json()}"
    units = _units(key, place, filters)
    n_units, n_sites = (
        cast("int", units.more[name]) for name in ("n_units", "n_sites")
    )
    st.markdown(
        f"**Who else has them in the field:** {text.counted(n_units, 'unit')} at "
        f"{text.counted(n_sites, 'site')} share a lot, supplier, model, revision or "
        "region that an alarm names. An excess is associated with the group; it says "
        "nothing about one unit."
    )
    widgets.offer_files(PAGE, units, words=filters.stated(), table="alarm-units")
