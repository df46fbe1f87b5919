"""The rows behind the counts: cases, units and readings under the filters."""

from analytics.rollup.snapshot import Snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, rows_of


def cases(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return the cases under the filters, newest first."""
    found = snapshot.ask("cases", filters.parameters(), chosen="chosen_cases")
    return Answer(
        about=snapshot.about,
        filters=filters,
        method="Cases received by the day the figures speak for; mode empty = open.",
        rows=rows_of(found),
        invented=snapshot.about.is_invented,
    )


def units(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return the units under the filters, by serial."""
    found = snapshot.ask("units", filters.parameters(), chosen="chosen_units")
    return Answer(
        about=snapshot.about,
        filters=filters,
        method="Units of the register; left_out = why a unit has no life data.",
        rows=rows_of(found),
        invented=snapshot.about.is_invented,
    )


def readings(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return the readings of the cases under the filters, judged, newest case first.

    `judged` is pass, fail, undefined or not_done by the limits beside it, which are in
    the unit of the check; `assumed` says what was taken for granted.
    """
    found = snapshot.ask("readings", filters.parameters(), chosen="chosen_cases")
    return Answer(
        about=snapshot.about,
        filters=filters,
        method="Readings taken by the day the figures speak for, each judged by the "
        "limit of its check for the unit, as the limit is now; an outcome is kept as "
        "recorded.",
        rows=rows_of(found),
        invented=snapshot.about.is_invented,
    )


def values_in_use(snapshot: Snapshot) -> dict[str, list[str]]:
    """Return the values that a filter of unit groups can take, by filter."""
    found = snapshot.ask("values_in_use")
    chosen: dict[str, list[str]] = {}
    for dimension, value in zip(found["dimension"], found["value"], strict=True):
        chosen.setdefault(str(dimension), []).append(str(value))
    return chosen
