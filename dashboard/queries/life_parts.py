"""The further tables of the life answer, each for itself: for export and download."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import cast

from dashboard.queries.answer import Answer, Row
from ingest.errors import NotFoundError

Rows = Sequence[Row]


def _rows(key: str) -> Callable[[Answer], Rows]:
    return lambda answer: cast("Rows", answer.more[key])


def _inner(key: str, name: str = "rows") -> Callable[[Answer], Rows]:
    # A part that is there only if it was asked for.
    def rows(answer: Answer) -> Rows:
        found = cast("Mapping[str, Rows] | None", answer.more[key])
        return found[name] if found else []

    return rows


PARTS: Mapping[str, Callable[[Answer], Rows]] = {
    "ages": _rows("b_lives"),
    "shares": _rows("failed_by"),
    "laws": _rows("laws"),
    "points": _rows("points"),
    "rates": _rows("hazard"),
    "modes": _rows("modes"),
    "incidence": _rows("incidence"),
    "groups": _inner("comparison"),
    "group-sizes": _inner("comparison", "groups"),
    "group-shares": _inner("comparison", "shares"),
    "group-tests": _inner("comparison", "tests"),
    "brackets": _inner("bracketed"),
    "without": _inner("without"),
    "assumed": _inner("assumed"),
}


def part(answer: Answer, name: str) -> Answer:
    """Return one further table of a life answer as an answer of its own.

    Parameters
    ----------
    answer : Answer
        As `life` gives it.
    name : str
        A key of `PARTS`.

    Raises
    ------
    NotFoundError
        The answer does not hold that table: it was not asked for.
    """
    rows = PARTS[name](answer)
    if not rows:
        raise NotFoundError(
            f"This answer holds no table {name}.",
            hint="Name what tells groups apart: `by`."
            if name.startswith("group")
            else {
                "without": "Choose failures: mode, component or another filter.",
                "brackets": "Every failure has its day, or units came into view late.",
                "assumed": "Name a shape: `assumed_shape`.",
            }.get(name, "It holds none under these filters."),
        )
    return replace(answer, rows=rows, more={})
