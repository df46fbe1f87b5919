"""Page: the bench. What is it likely to be, and what to check first."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts import bench_readings, reach, widgets
from dashboard.page_parts.bench_case import intake_of_address, show_case
from dashboard.page_parts.bench_gate import show_gate, show_noted
from dashboard.page_parts.bench_now import show_further, show_now
from dashboard.page_parts.bench_suspects import show_suspects, show_to_ask
from dashboard.place import place_in_use
from dashboard.queries.answer import Answer, Row
from dashboard.queries.suggest import Intake, suggest
from ingest.errors import UsageError

PAGE = "suggest"


def body(snapshot: Snapshot) -> None:
    """Show the case on the left, and what to do now on the right."""
    reach.make_room_for_gloves()
    widgets.tell_basis(snapshot.about)
    reach.tell_always(text.CAUTION)
    intake = intake_of_address()
    noted = bench_readings.noted_readings(PAGE)
    # Asked first: the case shows what the register holds of the unit.
    answer = _ask(snapshot, intake, noted)
    case, now = st.columns([5, 6], gap="large")
    with case:
        st.header("The case")
        show_case(PAGE, snapshot, intake, answer)
    with now:
        st.header("Now")
        told = bench_readings.tell_once(PAGE)
        if told:
            st.info(widgets.as_typed(told))
        show_now(PAGE, answer)
        show_noted(PAGE, answer)
        show_gate(PAGE, answer)
        show_suspects(PAGE, answer)
        show_to_ask(PAGE, answer)
        show_further(answer)
    words = intake.model_dump(exclude_defaults=True)
    widgets.offer_files(PAGE, answer, words=words)
    if noted:
        st.caption("The address holds the case alone, not the checks noted here.")
    _tell_left_out(answer)


def _ask(snapshot: Snapshot, intake: Intake, noted: Sequence[str]) -> Answer:
    # Never remembered: an answer to readings belongs to the unit on screen.
    settings = place_in_use().settings()
    if not noted:
        return suggest(snapshot, intake, settings=settings)
    asked = Intake.of(intake.model_dump() | {"reading": noted})
    try:
        return suggest(snapshot, asked, settings=settings)
    except UsageError as error:
        # The newest is the wrong one: those before it were answered already.
        bench_readings.take_back(PAGE)
        st.error(widgets.as_typed(f"{error.message} It was not noted."))
        return _ask(snapshot, intake, noted[:-1])


def _tell_left_out(answer: Answer) -> None:
    widgets.tell_left_out(
        [
            answer.method,
            str(answer.more["source"]),
            str(cast("Row", answer.more["unit"])["words"]),
            "What is neither reported nor answered no counts as not known.",
            (
                "Live checks are not shown before every gate check of this unit has "
                "passed."
            ),
        ]
    )


widgets.show_page("What is it likely to be, and what to check first?", body)
