"""Today, the critical cases: how many, what to do, the case behind each."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.links import href, link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today import RECENT_DAYS
from dashboard.queries.today_words import critical_sentence

PAGE = "today"
WRITTEN_OUT = 5  # cases in words above the table; a longer list is read as a table


def show_critical(answer: Answer) -> None:
    """Show the critical cases: those not closed in words, all shown as a table."""
    critical = cast("Mapping[str, object]", answer.more["critical"])
    widgets.tell_answer(critical_sentence(critical))
    st.header("Critical cases")
    if not answer.rows:
        st.markdown(
            "No critical case is open, and none is new. A case nobody has measured "
            "or confirmed is not among them."
        )
        return
    if not answer.more["closing_is_recorded"]:
        st.markdown(
            "No case has a day of closing on record, so none of these is known to be "
            "closed."
        )
    opened = [row for row in answer.rows if row["is_open"]]
    for row in opened[:WRITTEN_OUT]:
        _tell_case(row)
    if len(opened) > WRITTEN_OUT:
        rest = text.counted(len(opened) - WRITTEN_OUT, "further case")
        st.markdown(f"{rest} not closed: in the table.")
    _show_table(answer)
    widgets.offer_files(PAGE, answer, words=answer.filters.stated())


def _tell_case(row: Row) -> None:
    new = "New. " if row["is_new"] else ""
    known = (
        f"Confirmed on {row['since']}."
        if row["why"] == "confirmed"
        else f"Since {row['since']}, not confirmed: {as_typed(str(row['why']))}."
    )
    where = ", ".join(
        as_typed(str(row[name])) for name in ("site", "region") if row[name]
    )
    st.warning(
        f"**{new}{as_typed(_capital(str(row['label'])))}.** "
        f"Unit {as_typed(str(row['serial']))}, "
        f"{as_typed(str(row['model'] or 'not in the register'))}"
        f"{f', {where}' if where else ''}; received on {row['received_on']}.\n\n"
        f"{known}\n\n{row['to_do']}"
    )
    case_id = str(row["case_id"])
    link_to("case", f"Open the return {case_id}", {"case_id": case_id})


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _show_table(answer: Answer) -> None:
    rows: Sequence[Row] = [
        row
        | {"link": href("case", {"case_id": row["case_id"]})}
        | {"is_new": {True: "new", False: "known", None: "not known"}[_new(row)]}
        | {"is_open": "not closed" if row["is_open"] else f"closed {row['closed_on']}"}
        for row in answer.rows
    ]
    widgets.show_table(
        rows,
        {
            "link": st.column_config.LinkColumn(
                "return", display_text=r"case_id=([^&]*)"
            ),
            "label": st.column_config.TextColumn("failure", width="medium"),
            "since": "critical since",
            "is_new": "since the figures before",
            "is_open": "state",
            "why": st.column_config.TextColumn("why", width="large"),
            "serial": "unit",
            "model": "model",
            "site": "site",
            "region": "region",
            "received_on": "received",
            "says": st.column_config.TextColumn("what it means", width="large"),
            "to_do": st.column_config.TextColumn("what to do", width="large"),
        },
        key=f"{PAGE}_table",
        what="Critical cases with the reason, whether new and closed, and what to do",
    )


def _new(row: Row) -> bool | None:
    return cast("bool | None", row["is_new"])


def tell_left_out(answer: Answer) -> None:
    """Write what is left out and assumed."""
    critical = cast("Mapping[str, object]", answer.more["critical"])
    rest = text.count(cast("int", critical["n_rest"]))
    widgets.tell_left_out(
        [
            answer.method,
            (
                f"Critical cases closed before, and no news: {rest}; they are in the "
                "list of returns."
            ),
            (
                "What is new is seen against the figures published before."
                if critical["is_compared"]
                else "No figures published before can be compared: beside open cases "
                f"those critical for at most {RECENT_DAYS} days are shown."
            ),
            (
                "A reading made on site counts as failed until one made on site is "
                "corrected: a bench cannot show what only the site has."
            ),
            (
                "A filter of failures chooses confirmed cases; a case without a "
                "confirmed mode is then left out."
            ),
        ]
    )
