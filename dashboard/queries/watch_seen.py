"""Which alarms are new to somebody who has seen earlier figures."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from analytics.rollup.snapshot import Snapshot, earlier_snapshot
from dashboard.queries.answer import Row
from dashboard.queries.watch_rows import known_alarms


@dataclass(frozen=True, slots=True)
class NewAlarms:
    """Alarms that the figures seen before did not have.

    Attributes
    ----------
    as_of : datetime.date
        The day the figures seen before speak for.
    published_on : datetime.date
    rows : sequence of dict
        Rows of the watch, most urgent first.
    """

    as_of: dt.date
    published_on: dt.date
    rows: Sequence[Row]


def new_alarms(snapshot: Snapshot, seen: str, rows: Sequence[Row]) -> NewAlarms | None:
    """Return the alarms in `rows` that the figures `seen` did not have.

    Parameters
    ----------
    snapshot : Snapshot
        The figures shown now.
    seen : str
        Id of earlier ones.
    rows : sequence of dict
        Of the watch.

    Returns
    -------
    NewAlarms or None
        None if those figures are gone, or of another version.
    """
    earlier = earlier_snapshot(snapshot, seen)
    known = known_alarms(earlier)
    if earlier is None or known is None:
        return None
    return NewAlarms(
        as_of=earlier.about.as_of,
        published_on=earlier.about.published_at.date(),
        rows=[row for row in rows if row["alarm"] not in known],
    )
