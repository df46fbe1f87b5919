"""What the pages of one return and of one unit share: which one is asked for."""

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard.page_parts import widgets
from dashboard.page_parts.links import breadcrumb, link_to


def asked_for(page: str, word: str, snapshot: Snapshot, *, thing: str) -> str:
    """Return what the address names; where it names nothing, ask, and return "".

    Parameters
    ----------
    page : str
        Address of the page.
    word : str
        Of the address, whose value names the record.
    snapshot : Snapshot
        Whose figures the grey line is about.
    thing : {"return", "unit"}
        What the page shows one of.
    """
    named = str(st.query_params.get(word, "")).strip()
    breadcrumb("cases", here=named or f"One {thing}")
    widgets.tell_basis(snapshot.about)
    if not named:
        st.info(f"The address names no {thing}.")
        name = {"return": "Number", "unit": "Serial"}[thing]
        wanted = st.text_input(f"{name} of the {thing}", key=f"{page}_wanted").strip()
        if wanted:
            link_to(page, f"Open the {thing} {wanted}", {word: wanted})
        widgets.tell_left_out([f"A {thing} is shown as the store holds it now."])
    return named
