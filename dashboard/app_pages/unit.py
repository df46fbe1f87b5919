"""Page: one unit, with its returns and the state of its warranty."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.page_parts import history_unit, widgets
from dashboard.page_parts.links import breadcrumb, link_to
from dashboard.place import place_in_use
from dashboard.queries.history import unit

PAGE = "unit"


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    serial = str(st.query_params.get("serial", "")).strip()
    breadcrumb("cases", here=serial or "One unit")
    widgets.tell_basis(snapshot.about)
    if not serial:
        st.info("The address names no unit.")
        wanted = st.text_input("Serial of the unit", key=f"{PAGE}_wanted").strip()
        if wanted:
            link_to("unit", f"Open the unit {wanted}", {"serial": wanted})
        widgets.tell_left_out(["A unit is shown as the store holds it now."])
        return
    history_unit.show_unit(unit(place_in_use(), serial), snapshot)


widgets.show_page("What is known of this unit?", body)
