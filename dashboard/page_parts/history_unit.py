"""One unit: what it is, its warranty, its returns, versions."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.history_shown import (
    in_words,
    offer_rows,
    show_fields,
    show_versions,
    tell_data_address,
)
from dashboard.page_parts.links import href, link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row

PAGE = "unit"


def show_unit(answer: Answer, snapshot: Snapshot) -> None:
    """Show one unit.

    Parameters
    ----------
    answer : Answer
        As `history.unit` gives it.
    snapshot : Snapshot
        The figures shown: the warranty is judged on their day.
    """
    name = str(answer.more["title"]).removeprefix("Unit ")
    cases = cast("Sequence[Row]", answer.more["cases"])
    n = text.counted(len(cases), "return")
    if not answer.rows:
        widgets.tell_answer(
            f"Unit {as_typed(name)} is not in the register: only its {n} "
            f"{'is' if len(cases) == 1 else 'are'} known, and it has no life data."
        )
    else:
        row = answer.rows[0]
        widgets.tell_answer(
            f"Unit {as_typed(name)}, {as_typed(str(row['model']))}: {n}. "
            f"{warranty_words(row, snapshot)}"
        )
        if lot := row["production_lot"]:
            link_to("cases", f"Open the returns of lot {lot}", {"lot": str(lot)})
    _show_cases(answer, cases, name)
    if answer.rows:
        st.header("What is recorded")
        show_fields(
            answer.rows[0], key=f"{PAGE}_fields", what="Fields of the unit as it stands"
        )
    show_versions(answer, page=PAGE, name=name)
    tell_data_address("units", name)
    widgets.tell_left_out(
        [
            *answer.method.split(". "),
            (
                "Warranty: months of the unit, else those of its model in the "
                "settings, from the day it went into service; a recorded extension "
                "counts where it is later. The contract decides, not this page."
            ),
        ]
    )


def warranty_words(row: Row, snapshot: Snapshot) -> str:
    """Return the state of the warranty of a unit on the day of the figures shown."""
    until, day = row["warranty_until"], snapshot.about.as_of.isoformat()
    if until is None:
        return (
            "The end of its warranty is not known: the term or the in-service day is "
            "missing."
        )
    state = "still ran" if day <= str(until) else "had ended"
    return f"Its warranty until {until} ({row['warranty_basis']}) {state} on {day}."


def _show_cases(answer: Answer, cases: Sequence[Row], name: str) -> None:
    st.header("Returns of this unit")
    if not cases:
        st.markdown("It never came back.")
        return
    newest = str(cases[-1]["case_id"])
    link_to("case", f"Open the newest return {newest}", {"case_id": newest})
    widgets.show_table(
        [
            row
            | {"link": href("case", {"case_id": row["case_id"]})}
            | {
                column: in_words(column, row[column]) if row[column] else None
                for column in ("confirmed_mode", "symptoms", "disposition")
            }
            for row in reversed(cases)
        ],
        {
            "link": st.column_config.LinkColumn(
                "return", display_text=r"case_id=([^&]*)"
            ),
            "received_on": "received",
            "confirmed_mode": st.column_config.TextColumn(
                "confirmed as", width="medium"
            ),
            "confirmed_on": "confirmed",
            "closed_on": "closed",
            "disposition": "what was done",
            "symptoms": st.column_config.TextColumn("reported", width="large"),
        },
        key=f"{PAGE}_cases",
        what="Returns of the unit, the newest first, each with a link",
    )
    offer_rows(answer, "cases", page=PAGE, name=name)
