"""After a repair: what must pass before the unit goes back, and how far it has."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import bench_readings
from dashboard.page_parts.bench_noted import SHOWN, noted_words
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from ingest import catalogue

CONFIRMED = "confirmed"
AFTER_THE_GATE = "every check before mains"


def show_repair(page: str, answer: Answer) -> None:
    """Show what must pass after the repair, or ask what was repaired."""
    repair = cast("Row | None", answer.more["after_repair"])
    if repair:
        st.header("After the repair")
        rows = cast("Sequence[Row]", repair["rows"])
        if rows:
            # Lines are broken, so that no hazard and no reason is cut off.
            shown = [_shown(row) for row in rows]
            st.table(shown, border="horizontal", hide_index=True)
        readings = cast("Sequence[Row]", repair["readings"])
        if readings:
            st.markdown("\n".join(f"- {noted_words(row)}" for row in readings))
    _ask_repair(page, answer, again=bool(repair))


def _ask_repair(page: str, answer: Answer, *, again: bool) -> None:
    title = "Repaired again, or something else?" if again else "Repaired?"
    with st.expander(title, key=f"{page}_repair"):
        confirmed = [
            str(row["mode"])
            for row in cast("Sequence[Row]", answer.more["verdicts"])
            if row["state"] == CONFIRMED
        ]
        labels = {code: mode.label for code, mode in catalogue.failure_modes().items()}
        done = catalogue.codes("dispositions")
        mode = st.selectbox(
            "What was the fault",
            _modes(answer, confirmed),
            index=None,
            format_func=lambda code: (
                f"{labels[code]}, confirmed" if code in confirmed else labels[code]
            ),
            key=f"{page}_repaired_mode",
            placeholder="the confirmed and the likely first",
        )
        disposition = st.selectbox(
            "What was done",
            list(done),
            index=None,
            format_func=lambda code: done[code].label,
            key=f"{page}_repaired_how",
            placeholder="choose",
        )
        st.button(
            "Show what must pass now",
            key=f"{page}_repaired",
            on_click=bench_readings.note_repair,
            args=(page, mode, disposition),
            disabled=mode is None or disposition is None,
            help="Nothing read before counts for the way back: it begins with the "
            "proof that the unit is dead",
        )


def _modes(answer: Answer, confirmed: Sequence[str]) -> list[str]:
    read = [str(row["mode"]) for row in cast("Sequence[Row]", answer.more["verdicts"])]
    likely = [str(row["mode"]) for row in answer.rows]
    known = catalogue.failure_modes()
    rest = sorted(known, key=lambda code: known[code].label)
    return list(dict.fromkeys([*confirmed, *likely, *read, *rest]))


def _shown(row: Row) -> Row:
    missing = cast("Sequence[str]", row["missing_points"])
    # Findings that still wait stand with the gate, where they can be noted.
    points = [point for point in missing if point not in catalogue.codes("findings")]
    state = str(row["state"])
    left = ", ".join(points) if state not in ("pass", "fail") else ""
    return {
        "must pass": row["label"],
        "state": SHOWN.get(state, text.words(state)),
        "still to measure": left,
        "waits for": AFTER_THE_GATE if row["waits_for_gate"] else "",
        "hazard": row["hazard_words"],
        "because": as_typed(str(row["why"])),
    }
