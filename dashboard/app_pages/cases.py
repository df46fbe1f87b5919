"""Page: the returns behind a count, newest first."""

from collections.abc import Sequence

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.page_parts import widgets
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.page_parts.links import breadcrumb, href, link_to
from dashboard.page_parts.today_changes import tell_change
from dashboard.queries.answer import Answer, Row
from dashboard.queries.listings import cases
from ingest import catalogue

PAGE = "cases"
SHOWN = 5_000  # rows a browser shows without delay; the files hold all


@st.cache_data(max_entries=8, show_spinner="Listing returns")
def ask(snapshot: str, filters: str, _snapshot: Snapshot, _filters: Filters) -> Answer:
    """Return the answer, once for each snapshot and choice."""
    del snapshot, filters  # they are the key
    return cases(_snapshot, _filters)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    breadcrumb(here="Returns")
    about = snapshot.about
    widgets.tell_basis(about)
    filters = chosen_filters(PAGE, snapshot, days="Day of receipt")
    tell_change(snapshot, filters)
    answer = ask(about.snapshot, filters.model_dump_json(), snapshot, filters)
    if not answer.rows:
        widgets.tell_no_return(filters)
        return
    widgets.tell_answer(_answer(answer.rows))
    _offer_one()
    if len(answer.rows) > SHOWN:
        st.markdown(
            f"The newest {text.count(SHOWN)} are shown; the files hold all of them."
        )
    _show_table(answer.rows[:SHOWN])
    widgets.offer_files(PAGE, answer, words=filters.stated())
    widgets.tell_left_out(
        [
            answer.method,
            (
                "Returns of units not in the register have no model, lot or place, and "
                "are left out under a filter of units."
            ),
        ]
    )


def _answer(rows: Sequence[Row]) -> str:
    n_open = sum(row["mode"] is None for row in rows)
    days = [str(row["received_on"]) for row in rows]
    n_units = len({row["serial"] for row in rows})
    return (
        f"{text.counted(len(rows), 'return')} of {text.counted(n_units, 'unit')}, "
        f"received from {min(days)} to {max(days)}: "
        f"{text.count(len(rows) - n_open)} with a confirmed mode, {text.count(n_open)} "
        "open."
    )


def _offer_one() -> None:
    wanted = st.text_input("Open a return by its number", key=f"{PAGE}_wanted").strip()
    if wanted:
        link_to("case", f"Open the return {wanted}", {"case_id": wanted})


def _show_table(rows: Sequence[Row]) -> None:
    modes = catalogue.failure_modes()
    widgets.show_table(
        [
            row
            | {"link": href("case", {"case_id": row["case_id"]})}
            | {"unit": href("unit", {"serial": row["serial"]})}
            | _mode(row, modes)
            for row in rows
        ],
        {
            "link": st.column_config.LinkColumn(
                "return", display_text=r"case_id=([^&]*)"
            ),
            "unit": st.column_config.LinkColumn("unit", display_text=r"serial=([^&]*)"),
            "label": st.column_config.TextColumn("confirmed as", width="medium"),
            "severity": "severity",
            "received_on": "received",
            "age_days": "age (days)",
            "return_no": "return of the unit",
            "closed_on": "closed",
            "model": "model",
            "production_lot": "lot",
            "cable_supplier": "cable supplier",
            "hardware_revision": "hardware revision",
            "site": "site",
            "region": "region",
        },
        key=f"{PAGE}_table",
        what="Returns, newest first, each with a link to the return and to its unit",
    )


def _mode(row: Row, modes: dict[str, catalogue.FailureMode]) -> Row:
    if row["mode"] is None:
        return {"label": "open", "severity": None}
    mode = modes[str(row["mode"])]
    return {
        "label": mode.label,
        "severity": mode.severity if mode.is_failure else "no failure of the unit",
    }


widgets.show_page("Which returns are these?", body)
