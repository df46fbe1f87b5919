"""Tables that can be exported, by name: exactly what the pages show."""

import difflib
from collections.abc import Callable, Mapping

from analytics.rollup.snapshot import Snapshot, current_snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Answer
from dashboard.queries.life import life
from dashboard.queries.listings import cases, readings, units
from dashboard.queries.modes import modes
from dashboard.queries.quality import PARTS, left_out, part, quality
from dashboard.queries.rejected import rejected
from dashboard.settings import Place
from ingest.errors import NotFoundError


def _published(
    query: Callable[[Snapshot, Filters], Answer],
) -> Callable[[Place, Filters], Answer]:
    def ask(place: Place, filters: Filters) -> Answer:
        return query(current_snapshot(place.published), filters)

    return ask


def _part(name: str) -> Callable[[Snapshot, Filters], Answer]:
    return lambda snapshot, filters: part(quality(snapshot, filters), name)


def _quality(snapshot: Snapshot, filters: Filters) -> Answer:
    del filters  # a row of a file belongs to no group
    return quality(snapshot, Filters())


def _left_out(snapshot: Snapshot, filters: Filters) -> Answer:
    del filters  # the whole register is asked
    return left_out(snapshot)


def _rejected(place: Place, filters: Filters) -> Answer:
    del filters  # a row set aside belongs to no group yet
    return rejected(place)


TABLES: Mapping[str, Callable[[Place, Filters], Answer]] = {
    "modes": _published(modes),
    "life": _published(life),
    "cases": _published(cases),
    "units": _published(units),
    "readings": _published(readings),
    "quality": _published(_quality),
    **{f"quality-{name}": _published(_part(name)) for name in PARTS},
    "quality-left-out": _published(_left_out),
    "rejected": _rejected,
}


def table(place: Place, name: str, filters: Filters) -> Answer:
    """Return the table of that name under the filters.

    Raises
    ------
    NotFoundError
        No table of that name; names the nearest.
    """
    if name not in TABLES:
        near = difflib.get_close_matches(name, TABLES, n=1)
        known = f"Known tables: {', '.join(TABLES)}."
        raise NotFoundError(
            f"There is no table {name}.",
            hint=f"The nearest is {near[0]}. {known}" if near else known,
        )
    return TABLES[name](place, filters)
