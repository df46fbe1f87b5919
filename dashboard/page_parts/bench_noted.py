"""The checks noted on the bench, what they say, and what no reading can say."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.advice.confirming_words import spelled
from dashboard import text
from dashboard.page_parts import bench_readings
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from dashboard.queries.typed_readings import OUTCOMES
from ingest import catalogue

SHOWN = {"pass": "passed", "fail": "failed", "not_done": "not done"}
YES_OR_NO = {"yes": "Yes", "no": "No"}


def show_noted(page: str, answer: Answer) -> None:
    """Show the checks noted for this unit, each with its verdict."""
    readings = cast("Sequence[Row]", answer.more["readings"])
    if readings:
        before = " before the repair" if answer.more["after_repair"] else ""
        st.header(f"Checks noted for this unit{before}")
        st.markdown("\n".join(f"- {noted_words(row)}" for row in readings))
        verdicts = cast("Sequence[Row]", answer.more["verdicts"])
        for verdict in verdicts:
            st.markdown(f"- **{verdict['label']}:** {as_typed(str(verdict['words']))}")
        ask_what_no_reading_says(page, asked_of(verdicts))
        for place in cast("Sequence[Row]", answer.more["places"]):
            based = ", ".join(_labels(cast("Sequence[str]", place["checks"])))
            st.markdown(
                f"- **Where it lies:** {as_typed(str(place['words']))} From: {based}."
            )
    if readings or answer.more["after_repair"]:
        _show_buttons(page, answer)


def ask_what_no_reading_says(page: str, asked: Sequence[str]) -> None:
    """Ask what no reading can say; neither answer means not known."""
    if not asked:
        return
    st.markdown("No reading can say this; neither yes nor no means not known.")
    given = bench_readings.answers(page)
    for part in asked:
        key = f"{page}_answer_{part}"
        st.session_state[key] = given.get(part)
        st.pills(
            f"{_begun(spelled(part))}?",
            list(YES_OR_NO),
            format_func=lambda word: YES_OR_NO.get(word, word),
            key=key,
            on_change=bench_readings.note_answer,
            args=(page, part, key),
        )


def noted_words(row: Row) -> str:
    """Return one reading noted in words, for a line of a list."""
    label = catalogue.checks()[str(row["check"])].label
    point = str(row["point"] or "")
    known = catalogue.codes("findings")
    at = f" at {known[point].label if point in known else point}" if point else ""
    states = catalogue.codes("conditions")
    how = f", {states[str(row['condition'])].label.lower()}" if row["condition"] else ""
    typed = row["value"] not in OUTCOMES
    value = f" {row['value']} {row['unit']}," if typed else ""
    outcome = SHOWN.get(str(row["outcome"]), text.words(str(row["outcome"])))
    return (
        f"{label}{as_typed(at + how)}:{as_typed(value)} "
        f"**{outcome}**. {as_typed(str(row['meaning']))}"
    )


def asked_of(rows: Sequence[Row]) -> list[str]:
    """Return all that rows of an answer ask, or asked and was answered, each once."""
    return list(
        dict.fromkeys(
            part
            for row in rows
            for name in ("asks", "met", "not_met")
            for part in cast("Sequence[str]", row[name])
        )
    )


def _labels(codes: Sequence[str]) -> list[str]:
    return [catalogue.checks()[code].label for code in codes]


def _begun(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _show_buttons(page: str, answer: Answer) -> None:
    with st.container(horizontal=True):
        st.button(
            "Take the last one back",
            key=f"{page}_take_back",
            on_click=bench_readings.take_back,
            args=(page,),
            disabled=not bench_readings.noted_now(page),
        )
        if answer.more["proved_safe"]:
            st.button(
                "Opened again, or powered elsewhere",
                key=f"{page}_opened_again",
                on_click=bench_readings.note_opened,
                args=(page,),
            )
        st.button(
            "Start over",
            key=f"{page}_start_over",
            on_click=bench_readings.forget_readings,
            args=(page,),
            kwargs={"because": "Begun anew"},
        )
    st.caption("On this screen only: gone with a reload, another unit or another day.")
