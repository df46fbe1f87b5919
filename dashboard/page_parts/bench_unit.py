"""What the store holds of the unit on the bench: warranty and earlier returns."""

from collections.abc import Sequence
from pathlib import Path
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts.history_shown import in_words
from dashboard.page_parts.history_unit import warranty_words
from dashboard.page_parts.links import link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.place import WAIT_S, place_in_use
from dashboard.queries.answer import Answer, Row
from dashboard.queries.history import unit
from dashboard.settings import Place
from ingest.errors import NotFoundError, UserError

SHOWN_RETURNS = 3
NOT_CONFIRMED = "nothing confirmed"


def show_unit_history(serial: str | None, snapshot: Snapshot) -> None:
    """Show warranty and returns of the unit, as its own page states them.

    Parameters
    ----------
    serial : str or None
        As typed; without one nothing is shown.
    snapshot : Snapshot
        The figures shown: the warranty is judged on their day.
    """
    if not serial:
        return
    try:
        found = _history(place_in_use().data, serial)
    except NotFoundError:
        return  # Told already with what is known of the unit.
    except UserError as error:
        # The advice does not rest on it: the bench goes on.
        st.caption(as_typed(f"Its returns cannot be shown now. {error.message}"))
        return
    cases = cast("Sequence[Row]", found.more["cases"])
    told = [warranty_words(row, snapshot) for row in found.rows]
    told.append(
        f"{text.counted(len(cases), 'return')} on record, the newest first:"
        if cases
        else "No return is on record."
    )
    st.caption(as_typed(" ".join(told)))
    for case in list(reversed(cases))[:SHOWN_RETURNS]:
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            link_to("case", str(case["case_id"]), {"case_id": str(case["case_id"])})
            st.markdown(as_typed(_in_words(case)))
    left = len(cases) - SHOWN_RETURNS
    if left > 0:
        name = str(found.more["title"]).removeprefix("Unit ")
        link_to("unit", f"{text.count(left)} more of this unit", {"serial": name})


@st.cache_data(max_entries=8, ttl=60, show_spinner=False)
def _history(data: Path, serial: str) -> Answer:
    # The page runs anew with every check noted: the store is not opened each time.
    return unit(Place(data, wait_s=WAIT_S), serial)


def _in_words(case: Row) -> str:
    mode = case["confirmed_mode"]
    said = in_words("confirmed_mode", mode) if mode else NOT_CONFIRMED
    return f"received {case['received_on']}: {said}"
