"""What the pages of one return and of one unit share: fields, versions, rows aside."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import cast
from urllib.parse import quote

import streamlit as st

from dashboard import exports, text
from dashboard.page_parts import widgets
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

# The lists behind the fields that hold codes.
CODES = {
    "mechanism": "mechanisms",
    "cause_category": "cause_categories",
    "disposition": "dispositions",
    "symptoms": "symptoms",
    "symptoms_denied": "symptoms",
    "intake_findings": "findings",
    "environment": "environments",
    "duty": "duties",
    "connector": "connectors",
}
MAKERS: Mapping[str, Callable[[Answer], bytes]] = {
    "csv": exports.as_csv,
    "xlsx": exports.as_xlsx,
    "parquet": exports.as_parquet,
    "json": exports.as_json,
}


def in_words(field: str, value: object) -> str:
    """Return the value of a field as words; codes by their labels."""
    shown = str(value)
    if field == "confirmed_mode":
        return catalogue.failure_modes()[shown].label
    if field not in CODES:
        return shown
    known = catalogue.codes(CODES[field])
    return ", ".join(
        known[code].label if code in known else code for code in shown.split(";")
    )


def show_fields(row: Row, *, key: str, what: str) -> None:
    """Show the fields that are recorded, a line each."""
    widgets.show_table(
        [
            {"field": text.words(name), "value": in_words(name, value)}
            for name, value in row.items()
            if value is not None
        ],
        {
            "field": "field",
            "value": st.column_config.TextColumn("value", width="large"),
        },
        key=key,
        what=what,
    )


def show_versions(answer: Answer, *, page: str, name: str) -> None:
    """Show every version that was stored, and the rows set aside that name it."""
    versions = cast("Sequence[Row]", answer.more["versions"])
    st.header("Versions")
    if not versions:
        st.markdown("No file holds it yet.")
    else:
        st.markdown(
            f"{text.counted(len(versions), 'version')} stored, oldest first; the last "
            "one stands."
        )
        widgets.show_table(
            versions,
            {
                "batch": "batch",
                "file": "file",
                "row_no": "row",
                "taken_in_at": "taken in",
                "changed": "changed fields",
                "unknown_columns": "further cells",
            },
            key=f"{page}_versions",
            what="Versions with the file each came from and the fields that changed",
        )
        offer_rows(answer, "versions", page=page, name=name)
    aside = cast("Sequence[Row]", answer.more["set_aside"])
    if aside:
        st.header("Rows set aside that name it")
        widgets.show_table(
            aside,
            {"file": "file", "row_no": "row", "problems": "reasons"},
            key=f"{page}_set_aside",
            what="Rows set aside with file, row number and reasons",
        )
        offer_rows(answer, "set_aside", page=page, name=name)


def offer_rows(answer: Answer, part: str, *, page: str, name: str) -> None:
    """Offer one list of the answer as files.

    Parameters
    ----------
    answer : Answer
    part : str
        Name of the list in `answer.more`.
    page : str
        Start of the widget keys.
    name : str
        The case or serial; the files are called after it.
    """
    rows = cast("Sequence[Row]", answer.more[part])
    table = replace(answer, rows=rows, more={})
    with st.container(horizontal=True, vertical_alignment="center"):
        for suffix, make in MAKERS.items():
            st.download_button(
                suffix.upper() if suffix != "parquet" else "Parquet",
                data=partial(make, table),
                # A slash in a name is no folder.
                file_name=f"{name.replace('/', '_')}-{part}.{suffix}",
                on_click="ignore",
                key=f"{page}_{part}_as_{suffix}",
            )


def tell_data_address(route: str, name: str) -> None:
    """Show the address that gives the page as data."""
    address = f"/api/v1/{route}/{quote(name)}"
    st.markdown(f"This page as data: [{widgets.as_typed(address)}]({address})")
