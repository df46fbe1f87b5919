"""The tables of the watch, each for itself: for export and download."""

import difflib
from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from dashboard.queries.answer import Answer, Row
from ingest.errors import NotFoundError

PARTS = (
    *("past", "series", "cases", "comparison", "lots"),
    *("thin", "early", "repeats", "families", "measured"),
)
OF_ALARMS = ("past",)
BY_ALARM = ("past", "series", "cases", "comparison", "lots")
ALARM = "alarm"  # the word that chooses one alarm, in addresses and commands


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


def of_alarm(answer: Answer, alarm: str) -> Answer:
    """Return the answer with one alarm alone, in every table that has a row for each.

    Parameters
    ----------
    answer : Answer
        As `watch` gives it.
    alarm : str
        Its id; one that is past has no months and cases.

    Raises
    ------
    NotFoundError
        No alarm of that id; names the nearest, or the one it is shown with.
    """
    past = cast("Sequence[Row]", answer.more["past"])
    shown_as = {
        str(member): str(row[ALARM])
        for row in (*answer.rows, *past)
        for member in cast("Sequence[str]", row.get("members", ()))
    }
    known = [str(row[ALARM]) for row in (*answer.rows, *past)]
    if alarm not in known:
        hint = f"It is shown as part of {shown_as.get(alarm)}."
        if alarm not in shown_as:
            near = difflib.get_close_matches(alarm, known, n=1, cutoff=0)
            hint = f"The nearest is {near[0]}." if near else "No alarm stands."
        raise NotFoundError(
            f"There is no alarm {alarm}{answer.filters.under}.", hint=hint
        )

    def chosen(rows: Sequence[Row]) -> list[Row]:
        return [row for row in rows if row[ALARM] == alarm]

    parts = {n: chosen(cast("Sequence[Row]", answer.more[n])) for n in BY_ALARM}
    return replace(
        answer,
        rows=chosen(answer.rows),
        more={**answer.more, **parts},
        asked={**answer.asked, ALARM: alarm},
    )


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
