"""The parts that every page is made of: heading, states, table, files, small print."""

import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pandas as pd
import streamlit as st
from pandas.api.types import is_numeric_dtype

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import About, Snapshot, current_snapshot
from dashboard import exports, text
from dashboard.drawing import pictures
from dashboard.filters import Filters
from dashboard.page_parts import reach
from dashboard.place import place_in_use
from dashboard.queries.answer import INVENTED, Answer, Row
from dashboard.queries.newer import newer_files
from dashboard.settings import Place
from ingest.errors import NotPublishedError, UserError

WIDEST = 1200  # pixels; longer lines are hard to read
SHORT_ID = 8
REMEMBERED = 64
MISSING = "-"  # in a cell: not recorded, or nothing to say

_MARKS = re.compile(r"[\\`*_\[\]!<>$:~#|]")

Columns = Mapping[str, Any]  # heading, or a column configuration

LEFT_OUT = {
    "no_dates": "units without usable dates",
    "failed_before_service": "units that failed before they were in service",
    "failed_before_registration": "units that failed before they were registered",
    "not_in_service_by_end": "units not yet in service at the observation end",
    "registered_after_end": "units registered after the observation end",
    "unknown_serial": "cases of units that are not in the register",
}


def show_page(question: str, body: Callable[[Snapshot], None]) -> None:
    """Show a page: its question, then the body, or why there is none yet.

    Parameters
    ----------
    question : str
        The title.
    body : callable
        Called with the newest published figures. Errors of the user and of the data
        are shown as a sentence with what to do next.
    """
    with st.container(width=WIDEST):
        st.title(question)
        reach.make_readable()
        try:
            body(_figures(place_in_use()))
        except InsufficientDataError as error:
            tell_too_few(error)
        except UserError as error:
            st.error(as_typed(error.message))
            st.markdown(error.hint)


def _figures(place: Place) -> Snapshot:
    try:
        return current_snapshot(place.published)
    except NotPublishedError as error:
        if place.store.is_file():
            st.info(as_typed(f"{error.message} Records are stored."))
            st.markdown("Run `mendfleet publish`, then load this page again.")
        else:
            st.info(as_typed(f"Nothing is stored yet in {place.data.resolve()}."))
            st.markdown(
                "Run `mendfleet ingest` with your files, then `mendfleet publish`. "
                "`mendfleet demo` shows all this on an invented fleet."
            )
        st.stop()


def tell_too_few(error: InsufficientDataError) -> None:
    """Say what the data lack, how much of it they have, and what would be enough."""
    st.info(
        f"The data do not say yet. Needed: at least {text.count(error.needed)} "
        f"{error.what}. Found: {text.count(error.found)}."
    )
    missing = text.count(error.needed - error.found)
    st.markdown(f"Enough would be {missing} more; or choose a wider group.")


def tell_basis(about: About) -> None:
    """Write the grey line under the title, and whether the data are invented."""
    parts = [
        f"figures published on {about.published_at:%Y-%m-%d}",
        f"as of {about.as_of}",
        text.counted(about.n_units, "unit"),
        text.counted(about.n_cases, "case"),
        f"id {about.snapshot[-SHORT_ID:]}",
    ]
    with st.container(horizontal=True, vertical_alignment="center"):
        if about.is_invented:
            st.badge(INVENTED)
        st.caption(" · ".join(parts))
    if _newer(place_in_use(), about):
        st.warning(
            "Other records are stored than these figures count: run "
            "`mendfleet publish`, then load this page again."
        )


def _newer(place: Place, about: About) -> int:
    # Opening the store holds up whoever wants to write: ask once for each state of it.
    return _newer_remembered(state_of_store(place), about.snapshot, place, about)


def state_of_store(place: Place) -> str:
    """Return a text that changes whenever the store does."""
    beside = place.store.with_name(f"{place.store.name}.wal")
    return "".join(_state(file) for file in (place.store, beside))


def _state(file: Path) -> str:
    if not file.is_file():
        return f"no {file}"
    found = file.stat()
    return f"{file} {found.st_mtime_ns} {found.st_size}"


@st.cache_data(max_entries=REMEMBERED, show_spinner=False)
def _newer_remembered(state: str, snapshot: str, _place: Place, _about: About) -> int:
    del state, snapshot  # they are the key
    return newer_files(_place, _about)


def tell_no_return(filters: Filters) -> None:
    """Say that no return is there, and what to do about it."""
    if filters.stated():
        st.info("No return is left under these filters.")
        st.markdown("Leave a filter out, or choose an earlier first day.")
    else:
        st.info("No return is on record.")
        st.markdown("Run `mendfleet ingest` with repairs, then `mendfleet publish`.")


def tell_answer(sentence: str) -> None:
    """Write the answer so that it stands out of the text around it."""
    st.markdown(f"**{sentence}**")


def show_table(rows: Sequence[Row], columns: Columns, *, key: str, what: str) -> None:
    """Show rows as a table that can be sorted.

    Parameters
    ----------
    rows : sequence of dict
    columns : mapping
        Heading, or a column configuration, by column, in the order shown.
    key : str
    what : str
        What the table holds, for those who cannot see it.
    """
    frame = pd.DataFrame(rows, columns=list(columns))
    # The grid would write None for what is missing; a number keeps its place, and a
    # dash would be taken for an address.
    for name, column in columns.items():
        if isinstance(column, str) and not is_numeric_dtype(frame[name]):
            frame[name] = frame[name].where(frame[name].notna(), MISSING)
    st.dataframe(
        frame,
        column_config={**columns},
        hide_index=True,
        key=key,
        alt=what,
    )


def offer_files(
    page: str,
    answer: Answer,
    *,
    words: Mapping[str, object],
    table: str | None = None,
    picture: pictures.Picture | None = None,
) -> None:
    """Offer the table as files, and the address that gives the page as data.

    Parameters
    ----------
    page : str
        Address of the page; also the name of the files.
    answer : Answer
    words : mapping
        The words of the page's own address.
    table : str, optional
        Name of a further table of the page: the files are called so, and the address
        gives that table alone.
    picture : Picture, optional
        Offered beside the files.
    """
    name = table or page
    makers: dict[str, Callable[[], bytes]] = {
        "csv": partial(exports.as_csv, answer),
        "xlsx": partial(exports.as_xlsx, answer),
        "parquet": partial(exports.as_parquet, answer),
    }
    names = {"csv": "CSV", "xlsx": "XLSX", "parquet": "Parquet"}
    with st.container(horizontal=True, vertical_alignment="center"):
        if picture is not None:
            offer_picture(page, picture, answer, name)
        for suffix, make in makers.items():
            st.download_button(
                names[suffix],
                data=make,
                file_name=f"{name}.{suffix}",
                on_click="ignore",
                key=f"{name}_as_{suffix}",
            )
        asked = {**words, "format": "json"} if table else words
        query = urlencode(list(pairs(asked)))
        route = f"export/{table}" if table else page
        address = f"/api/v1/{route}" + (f"?{query}" if query else "")
        what = "table" if table else "page"
        st.markdown(f"This {what} as data: [{address}]({address})")


def offer_picture(
    page: str, picture: pictures.Picture, answer: Answer, name: str
) -> None:
    """Offer a chart as SVG and PNG; a picture is drawn when it is asked for.

    Parameters
    ----------
    page : str
        Address of the page.
    picture : Picture
    answer : Answer
        Whose numbers are drawn.
    name : str
        Of the file, without its ending.
    """
    makers: Mapping[str, Callable[[pictures.Picture, Answer], bytes]] = {
        "svg": pictures.as_svg,
        "png": pictures.as_png,
    }
    for suffix, make in makers.items():
        st.download_button(
            suffix.upper(),
            data=partial(make, picture, answer),
            file_name=f"{name}.{suffix}",
            on_click="ignore",
            key=f"{page}_{name}_as_{suffix}",
        )


def pairs(words: Mapping[str, object]) -> Sequence[tuple[str, str]]:
    """Return words as pairs of an address: one for each value."""
    found = []
    for name, value in words.items():
        values = value if isinstance(value, list | tuple) else [value]
        found += [(name, str(single)) for single in values]
    return found


def as_typed(words: str) -> str:
    """Return words so that a page shows them as typed, never as a picture or link.

    What comes from a file or an address may hold anything.
    """
    return _MARKS.sub(r"\\\g<0>", words)


def left_out_words(left_out: Mapping[str, int]) -> Sequence[str]:
    """Return how many units or cases are left out, a phrase for each reason."""
    return [
        f"{LEFT_OUT.get(reason, text.words(reason))}: {text.count(n)}"
        for reason, n in left_out.items()
    ]


def tell_left_out(sentences: Sequence[str]) -> None:
    """Write what is left out and assumed, closed until opened."""
    with st.expander("What is left out and assumed"):
        for sentence in sentences:
            st.markdown(f"- {sentence}")


def percent(label: str) -> Any:
    """Return the configuration of a column of percent values."""
    return st.column_config.NumberColumn(label, format="%.1f")
