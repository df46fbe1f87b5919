"""Page: the earlier confirmed cases that are like the return on the bench."""

from functools import partial
from urllib.parse import urlencode

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.bench_address import MODE, case_words, intake_of_address
from dashboard.page_parts.history_shown import MAKERS
from dashboard.page_parts.links import breadcrumb, href, link_to
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer
from dashboard.queries.like_cases import METHOD, like_cases
from ingest.errors import UsageError

PAGE = "like"
SHOWN = 5_000  # rows a browser shows without delay; the files hold all


def body(snapshot: Snapshot) -> None:
    """Show the cases, newest first, each with a link to it."""
    breadcrumb("suggest", here="Like cases")
    widgets.tell_basis(snapshot.about)
    mode = str(st.query_params.get(MODE, "")).strip()
    if not mode:
        st.info("The address names no mode.")
        link_to("suggest", "Open the bench", case_words())
        _tell_left_out()
        return
    answer = _ask(snapshot, mode)
    if answer is None:
        _tell_left_out()
        return
    widgets.tell_answer(str(answer.more["sentence"]))
    if answer.more["differs"]:
        st.markdown(str(answer.more["differs"]))
    link_to("suggest", "Back to this return on the bench", case_words())
    if answer.rows:
        _show_table(answer)
    _offer(answer, mode)
    _tell_left_out()


def _tell_left_out() -> None:
    widgets.tell_left_out([METHOD, "Open cases have no mode and are not listed."])


def _ask(snapshot: Snapshot, mode: str) -> Answer | None:
    settings = place_in_use().settings()
    try:
        return like_cases(snapshot, intake_of_address(), mode, settings=settings)
    except UsageError as error:
        st.error(widgets.as_typed(f"{error.message} {error.hint}"))
        return None


def _show_table(answer: Answer) -> None:
    if len(answer.rows) > SHOWN:
        st.markdown(
            f"The newest {text.count(SHOWN)} are shown; the files hold all of them."
        )
    widgets.show_table(
        [
            row | {"link": href("case", {"case_id": row["case_id"]})}
            for row in answer.rows[:SHOWN]
        ],
        {
            "link": st.column_config.LinkColumn(
                "return", display_text=r"case_id=([^&]*)"
            ),
            "received_on": "received",
            "model": "model",
            "age_days": "age (days)",
            "shared": st.column_config.TextColumn("what is shared", width="large"),
            "support": "mode is",
        },
        key=f"{PAGE}_table",
        what="Like cases, newest first, each with a link to it and what it shares",
    )


def _offer(answer: Answer, mode: str) -> None:
    with st.container(horizontal=True, vertical_alignment="center"):
        for suffix, make in MAKERS.items():
            st.download_button(
                "Parquet" if suffix == "parquet" else suffix.upper(),
                data=partial(make, answer),
                file_name=f"like-cases.{suffix}",
                on_click="ignore",
                key=f"{PAGE}_as_{suffix}",
            )
    words = [(MODE, mode), *widgets.pairs(case_words())]
    address = f"/api/v1/suggest/like?{urlencode(words)}"
    st.markdown(f"This page as data: [{widgets.as_typed(address)}]({address})")


widgets.show_page("Which earlier returns were like it?", body)
