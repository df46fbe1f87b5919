"""Links from page to page: a case or serial travels in the address, never in a path."""

from collections.abc import Mapping, Sequence
from urllib.parse import quote, urlencode

import streamlit as st

from dashboard.app import PAGES
from dashboard.page_parts.widgets import as_typed, pairs

BY_ADDRESS = {page.address: page for page in PAGES}


def link_to(
    address: str, label: str, words: Mapping[str, str | Sequence[str]] | None = None
) -> None:
    """Show a link to another page, which keeps the session.

    Parameters
    ----------
    address : str
        Of the page.
    label : str
        Shown as typed, whatever it holds.
    words : mapping, optional
        The words of its address.
    """
    st.page_link(
        BY_ADDRESS[address].made(),
        label=f"{as_typed(label)} →",
        query_params=words or None,
    )


def href(address: str, words: Mapping[str, object]) -> str:
    """Return the relative address of another page, for a column of links."""
    return f"{address}?{urlencode(list(pairs(words)), quote_via=quote)}"


def breadcrumb(*addresses: str, here: str) -> None:
    """Show the way up: the start page, the pages between, where one is.

    Parameters
    ----------
    addresses : str
        Of the pages between the start page and this page, the upper first.
    here : str
        This page.
    """
    with st.container(horizontal=True, vertical_alignment="center"):
        for address in (PAGES[0].address, *addresses):
            page = BY_ADDRESS[address]
            st.page_link(page.made(), label=page.title)
            st.markdown("/")
        st.markdown(as_typed(here))
