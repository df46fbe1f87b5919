"""Rules between the fields of a row, asked about a block of rows at once.

Each says of every row whether it surely keeps the rule. One that may not goes to the
model, which alone decides and finds the words.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.bulk.columns import Column, Mask
from ingest.kinds.day_order import EARLIER

Columns = Mapping[str, Column]
Rule = Callable[[Columns], Mask]
NOT_RECORDED = np.iinfo(np.int32).min  # earlier than any day
COSTS = ("parts_cost", "freight_cost")
USES = ("sessions", "energy_kwh", "connected_hours")


def days_in_order(columns: Columns) -> Mask:
    """Return for each row whether its days follow each other (`EARLIER`)."""
    days = {name: _day(columns[name]) for name in _names_of_days(columns)}
    fine = np.ones(len(next(iter(columns.values())).at), dtype=bool)
    for later, befores in EARLIER.items():
        if later not in days:
            continue
        day = days[later]
        is_open = day != NOT_RECORDED
        for name, strictly in befores:
            # Only the nearest day on record counts.
            compared = is_open & (days[name] != NOT_RECORDED)
            wrong = day <= days[name] if strictly else day < days[name]
            fine &= ~(compared & wrong)
            is_open &= ~compared
    return fine


def costs_have_a_currency(columns: Columns) -> Mask:
    """Return for each row whether it names a currency if it has a cost."""
    cost = _any_recorded(columns, COSTS)
    return ~cost | columns["currency"].recorded()


def something_used(columns: Columns) -> Mask:
    """Return for each row whether it says anything about the month."""
    return _any_recorded(columns, USES)


# By kind: rules asked in columns; and fields whose distinct combinations are shown to
# the model itself. A kind that is not here has no such rule, or goes row by row.
IN_COLUMNS: dict[str, tuple[Rule, ...]] = {
    "units": (days_in_order,),
    "repairs": (days_in_order, costs_have_a_currency),
    "usage": (something_used,),
}
BY_MODEL: dict[str, tuple[str, ...]] = {
    "repairs": ("symptoms", "symptoms_denied"),
    "readings": ("check", "outcome", "value", "unit"),
}
# Rules that a kind's model has beside those of its fields; a new one must be named in
# the tables above before rows may pass without the model.
COVERED: dict[str, frozenset[str]] = {
    "units": frozenset(EARLIER),
    "repairs": frozenset({*EARLIER, "currency", "symptoms_denied"}),
    "readings": frozenset({"value", "unit"}),
    "shipments": frozenset(),
    "planned_sales": frozenset(),
    "usage": frozenset({"sessions", "energy_kwh", "connected_hours"}),
}


def combinations(columns: Columns, names: Sequence[str]) -> NDArray[np.int64]:
    """Return a number for each row: the same for rows with the same cells."""
    number = np.zeros(len(columns[names[0]].at), dtype=np.int64)
    for name in names:
        number = number * len(columns[name].texts) + columns[name].at
    return number


def _names_of_days(columns: Columns) -> list[str]:
    names = {*EARLIER, *(name for befores in EARLIER.values() for name, _ in befores)}
    return [name for name in names if name in columns]


def _day(column: Column) -> NDArray[np.int32]:
    days = column.values.cast(pa.int32()).fill_null(NOT_RECORDED)
    found: NDArray[np.int32] = days.to_numpy(zero_copy_only=False)[column.at]
    return found


def _any_recorded(columns: Columns, names: Sequence[str]) -> Mask:
    found: Mask = np.logical_or.reduce([columns[name].recorded() for name in names])
    return found
