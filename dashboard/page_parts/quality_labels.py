"""Data quality, the labels: which confirmed modes a reading proves or contradicts."""

from collections.abc import Mapping
from typing import cast
from urllib.parse import quote

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.queries.answer import Answer, Row
from dashboard.queries.quality import part
from ingest import catalogue

PAGE = "quality"
WORDS = {
    "backed": "proved by a reading",
    "unbacked": "not proved",
    "doubted": "came back",
    "contradicted": "contradicted by a reading",
}


def show_labels(answer: Answer) -> None:
    """Show how many confirmed modes are proved, and the cases that are not right."""
    st.header("Which confirmed modes are proved by a reading?")
    support = cast("Mapping[str, object]", answer.more["label_support"])
    n = cast("int", support["n_confirmed"])
    if not n:
        st.markdown(f"No case is confirmed yet{answer.filters.under}.")
        return
    counts = cast("Mapping[str, int]", support["counts"])
    share, low, high = (
        cast("float", support[name]) for name in ("share_backed", "low", "high")
    )
    st.markdown(
        f"Proved by a reading: {text.count(counts['backed'])} of {text.count(n)} "
        f"confirmed cases ({text.share(share, n)}, 95 % interval "
        f"{text.share_interval(low, high, n)}). Came back: within 90 days with the "
        "same symptom. All of them count as confirmed."
    )
    _show_shares(part(answer, "label-support"))
    _show_contradicted(part(answer, "contradicted"))


def _show_shares(table: Answer) -> None:
    rows = [
        row
        | {"support": WORDS[str(row["support"])]}
        | {name: 100 * cast("float", row[name]) for name in ("share", "low", "high")}
        for row in table.rows
    ]
    widgets.show_table(
        rows,
        {
            "support": "the confirmed mode is",
            "n_cases": "cases",
            "share": widgets.percent("share (%)"),
            "low": widgets.percent("95 % from (%)"),
            "high": widgets.percent("to (%)"),
        },
        key=f"{PAGE}_support",
        what="Confirmed cases by what backs their mode, with shares and intervals",
    )
    _offer(table, "label-support")


def _show_contradicted(table: Answer) -> None:
    st.markdown("**Cases whose confirmed mode a reading speaks against**")
    if not table.rows:
        st.markdown("None.")
        return
    modes = catalogue.failure_modes()
    widgets.show_table(
        [_contradicted(row, modes[str(row["mode"])].label) for row in table.rows],
        {
            "case_id": "case",
            "serial": "serial",
            "mode": "confirmed mode",
            "words": st.column_config.TextColumn("why", width="large"),
            "link": st.column_config.LinkColumn(
                "readings and versions", display_text="show the case"
            ),
        },
        key=f"{PAGE}_contradicted",
        what="Cases whose confirmed mode a reading speaks against, with the reason",
    )
    _offer(table, "contradicted")


def _contradicted(row: Row, label: str) -> Row:
    address = f"/api/v1/cases/{quote(str(row['case_id']))}"
    return row | {"mode": label, "link": address}


def _offer(table: Answer, name: str) -> None:
    widgets.offer_files(
        PAGE, table, words=table.filters.stated(), table=f"{PAGE}-{name}"
    )
