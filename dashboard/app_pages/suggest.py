"""Page: the bench. What is it likely to be, and what to check first."""

from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts import bench_readings, reach, widgets
from dashboard.page_parts.bench_address import intake_of_address
from dashboard.page_parts.bench_case import show_case
from dashboard.page_parts.bench_claim import show_claim
from dashboard.page_parts.bench_gate import show_gate
from dashboard.page_parts.bench_noted import show_noted
from dashboard.page_parts.bench_now import show_further, show_now
from dashboard.page_parts.bench_repair import show_repair
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
    # Asked first: the case shows what the register holds of the unit.
    answer = _ask(snapshot, intake)
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
        # After a repair what must pass comes first, before it what was found.
        parts = [show_noted, show_repair]
        for show in reversed(parts) if answer.more["after_repair"] else parts:
            show(PAGE, answer)
        show_gate(PAGE, answer)
        if not answer.more["after_repair"]:
            # A repair settles what it was: what counts now stands in the list above.
            show_suspects(PAGE, answer)
            show_to_ask(PAGE, answer)
            show_further(PAGE, answer)
            show_claim(PAGE, answer)
    words = intake.model_dump(exclude_defaults=True)
    widgets.offer_files(PAGE, answer, words=words)
    if bench_readings.noted(PAGE):
        st.caption("The address holds the case alone, not the checks noted here.")
    _tell_left_out(answer)


def _ask(snapshot: Snapshot, intake: Intake) -> Answer:
    # Never remembered: an answer to readings belongs to the unit on screen.
    settings = place_in_use().settings()
    while True:
        asked = Intake.of(intake.model_dump() | bench_readings.noted(PAGE))
        try:
            return suggest(snapshot, asked, settings=settings)
        except UsageError as error:
            if not bench_readings.noted_now(PAGE):
                raise
            # The newest is the wrong one: those before it were answered already.
            bench_readings.take_back(PAGE)
            st.error(widgets.as_typed(f"{error.message} It was not noted."))


def _tell_left_out(answer: Answer) -> None:
    widgets.tell_left_out(
        [
            answer.method,
            str(answer.more["source"]),
            str(answer.more["table_source"]),
            str(cast("Row", answer.more["unit"])["words"]),
            "What is neither reported nor answered no counts as not known.",
            (
                "Live checks are not shown before every gate check of this unit has "
                "passed."
            ),
        ]
    )


widgets.show_page("What is it likely to be, and what to check first?", body)
