"""The tables of the watch, each for itself: for export and download."""

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from dashboard.queries.answer import Answer, Row

PARTS = (
    *("past", "series", "cases", "comparison", "lots"),
    *("thin", "early", "repeats", "families", "measured"),
)
OF_ALARMS = ("past",)


def part(answer: Answer, name: str) -> Answer:
    """Return one further table of the watch as an answer of its own.

    Parameters
    ----------
    answer : Answer
        As `watch` gives it.
    name : str
        One of `PARTS`.
    """
    rows = cast("Sequence[Row]", answer.more[name])
    if name in OF_ALARMS:
        rows = [_flat(row) for row in rows]
    return replace(answer, rows=list(rows), more={})


def flat(answer: Answer) -> Answer:
    """Return the alarms with one value in each cell, as a table holds them."""
    return replace(answer, rows=[_flat(row) for row in answer.rows], more={})


def _flat(row: Row) -> Row:
    also, earlier = (cast("Sequence[Row]", row[name]) for name in ("also", "earlier"))
    return {
        **{name: value for name, value in row.items() if name != "months"},
        "cases": "; ".join(cast("Sequence[str]", row["cases"])),
        "also": "; ".join(f"{other['failure']}, {other['where']}" for other in also),
        "earlier": "; ".join(
            f"{other['alarm']} ({other['state']})" for other in earlier
        ),
    }
