"""Recurring failures: the units in the field that share what an alarm names."""

import streamlit as st

from dashboard import text
from dashboard.filters import Filters
from dashboard.page_parts import widgets
from dashboard.page_parts.links import href
from dashboard.page_parts.watch_shown import PAGE, Watched
from dashboard.page_parts.widgets import as_typed
from dashboard.place import place_in_use
from dashboard.queries.alarm_units import alarm_units
from dashboard.queries.answer import Answer, Row
from dashboard.settings import Place
from ingest.errors import NotFoundError

SHOWN = 1_000  # rows a browser shows without delay; the files hold all


@st.cache_data(max_entries=8, show_spinner="Listing units in the field")
def ask(
    snapshot: str, filters: str, kept: str, alarm: str, _place: Place, _filters: Filters
) -> Answer:
    """Return the answer, once for each snapshot, choice, state of the store, alarm."""
    del snapshot, filters, kept  # they are the key
    return alarm_units(_place, _filters, alarm=alarm)


def show_units(shown: Watched, row: Row) -> None:
    """Show which units in the field share the group of an alarm."""
    about, place = shown.answer.about, place_in_use()
    if about is None:
        return
    st.header("Units in the field that share it")
    filters = shown.answer.filters
    kept = widgets.state_of_store(place)
    alarm = str(row["alarm"])
    asked = filters.model_dump_json()
    try:
        answer = ask(about.snapshot, asked, kept, alarm, place, filters)
    except NotFoundError as error:  # published anew since the alarms were read
        st.info(as_typed(error.message))
        return
    rows = answer.rows
    if not rows:
        st.markdown(
            "The alarm names no group of units smaller than the whole fleet, or none "
            "of it works in the field."
        )
        return
    sites = {unit["site"] for unit in rows} - {None}
    st.markdown(
        f"{text.counted(len(rows), 'unit')} at {text.counted(len(sites), 'known site')}"
        ", still in service and without a confirmed failure of this kind. That a unit "
        "is listed says nothing about the unit."
    )
    if len(rows) > SHOWN:
        st.markdown(f"The first {text.count(SHOWN)} are shown; the files hold all.")
    widgets.show_table(
        [
            unit | {"link": href("unit", {"serial": unit["serial"]})}
            for unit in rows[:SHOWN]
        ],
        {
            "link": st.column_config.LinkColumn("unit", display_text=r"serial=([^&]*)"),
            "shared": "shares",
            "model": "model",
            "lot": "lot",
            "cable_supplier": "cable supplier",
            "region": "region",
            "site": "site",
            "in_service_on": "in service on",
            "warranty_until": "warranty until",
        },
        key=f"{PAGE}_units",
        what="Units in the field that share the group of the alarm, each with a link",
    )
    widgets.offer_files(
        PAGE,
        answer,
        words={**filters.stated(), **answer.asked},
        table="alarm-units",
    )
