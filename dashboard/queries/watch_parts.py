"""The further tables of the watch, each for itself: for export and download."""

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from dashboard.queries.answer import Answer, Row

PARTS = (
    *("past", "series", "cases", "comparison", "lots"),
    *("thin", "early", "repeats", "families"),
)


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
    return replace(answer, rows=list(rows), more={})
