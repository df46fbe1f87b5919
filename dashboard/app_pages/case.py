"""Page: one return, with its readings and every version of it."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.page_parts import history_case, widgets
from dashboard.page_parts.links import breadcrumb, link_to
from dashboard.place import place_in_use
from dashboard.queries.history import case

PAGE = "case"


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    case_id = str(st.query_params.get("case_id", "")).strip()
    breadcrumb("cases", here=case_id or "One return")
    widgets.tell_basis(snapshot.about)
    if not case_id:
        st.info("The address names no return.")
        wanted = st.text_input("Number of the return", key=f"{PAGE}_wanted").strip()
        if wanted:
            link_to("case", f"Open the return {wanted}", {"case_id": wanted})
        widgets.tell_left_out(["A return is shown as the store holds it now."])
        return
    history_case.show_case(case(place_in_use(), case_id), snapshot)


widgets.show_page("What is known of this return?", body)
