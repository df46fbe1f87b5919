"""What the watch has raised: each alarm as it was first seen, and how far it got.

The first publish that raises an alarm leaves it here, so that a later one knows it
again whatever the newer figures say. Notes and deliveries (`alarm_notes`) hang on the
alarm's id; taking files back leaves all of it alone.
"""

import datetime as dt
import hashlib
import json
import uuid
from collections.abc import Sequence
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Self

import duckdb

from ingest import store
from ingest.alarm_notes import (
    STATES,
    AlarmNote,
    alarm_notes,
    mark_sent,
    note_alarm,
    unsent,
)

__all__ = [
    "STATES",
    "AlarmKey",
    "AlarmNote",
    "Recorded",
    "RecordedAlarm",
    "alarm_id",
    "alarm_notes",
    "mark_sent",
    "note_alarm",
    "record_alarms",
    "recorded",
    "recorded_alarms",
    "unsent",
]

ID_DIGITS = 5

ALARMS = """
SELECT alarm, family, failure, value, look, first_snapshot, first_seen_on
FROM {schema}.alarms
ORDER BY look, alarm
"""
WATCH = "SELECT through, first_live FROM {schema}.alarm_watch"
# Which alarm stands for an id is settled once: an alarm never changes.
KEEP = "INSERT INTO alarms VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING"
BEGIN_WATCH = """
INSERT INTO alarm_watch
SELECT $through, $first_live
WHERE NOT EXISTS (SELECT 1 FROM alarm_watch)
"""
GO_ON = "UPDATE alarm_watch SET through = greatest(through, $through)"
NAME = "INSERT OR IGNORE INTO store_about VALUES ('watch', ?)"
NAMED = "SELECT max(value) FROM {schema}.store_about WHERE key = 'watch'"
COUNT = "SELECT count(*) FROM alarms"


@dataclass(frozen=True, slots=True)
class AlarmKey:
    """What tells one alarm from all others.

    Attributes
    ----------
    alarm : str
        Id, as `alarm_id` makes it.
    family : str
        The partition of failures that was watched.
    failure : str
        Code of the mode, group or component.
    value : str or None
        Of the family's dimension; None where not recorded, or it has none.
    look : datetime.date
        First day of the month that raised it.
    """

    alarm: str
    family: str
    failure: str
    value: str | None
    look: dt.date

    @classmethod
    def of(cls, family: str, failure: str, value: str | None, look: dt.date) -> Self:
        """Return the key with its id."""
        return cls(alarm_id(family, failure, value, look), family, failure, value, look)


@dataclass(frozen=True, slots=True)
class RecordedAlarm:
    """An alarm and when it was first seen.

    Attributes
    ----------
    key : AlarmKey
    first_snapshot : str
        Id of the figures that raised it first.
    first_seen_on : datetime.date
        The day on which those were published, UTC.
    """

    key: AlarmKey
    first_snapshot: str
    first_seen_on: dt.date


@dataclass(frozen=True, slots=True)
class Recorded:
    """All that was raised until now.

    Attributes
    ----------
    alarms : tuple of RecordedAlarm
        By month, then id.
    through : datetime.date or None
        First day of the last month watched; None before the first watch.
    first_live : datetime.date or None
        First day of the month from which the watch has been raising alarms.
    watch : str or None
        A random name, made at the first watch: two fleets may raise like alarms, and
        who is told of both must not take one for the other.
    """

    alarms: tuple[RecordedAlarm, ...] = ()
    through: dt.date | None = None
    first_live: dt.date | None = None
    watch: str | None = None


def alarm_id(family: str, failure: str, value: str | None, look: dt.date) -> str:
    """Return the id of an alarm, such as 2025-03-7f3ac; the same key has the same id.

    Parameters
    ----------
    family, failure : str
    value : str or None
    look : datetime.date
        First day of the month that raised it.

    Raises
    ------
    ValueError
        `look` is another day of its month.

    Notes
    -----
    Two alarms of one month share an id once in a million pairs; then they share
    notes and deliveries, and the first one recorded stands for both.
    """
    if look.day != 1:
        raise ValueError(f"look must be the first day of a month, got {look}")
    basis = json.dumps([family, failure, value, look.isoformat()])
    digest = hashlib.sha256(basis.encode()).hexdigest()
    return f"{look:%Y-%m}-{digest[:ID_DIGITS]}"


def record_alarms(
    store_file: Path,
    *,
    snapshot: str,
    published_at: dt.datetime,
    through: dt.date,
    alarms: Sequence[AlarmKey],
    first_live: dt.date | None = None,
    wait_s: float = 0,
) -> int:
    """Keep the alarms that are not known yet; return how many were new.

    Parameters
    ----------
    store_file : pathlib.Path
    snapshot : str
        Id of the figures that raised them.
    published_at : datetime.datetime
        When those were published, UTC.
    through : datetime.date
        The last month watched. An earlier one than is kept changes nothing: figures
        for a past day are no return to it.
    alarms : sequence of AlarmKey
    first_live : datetime.date, optional
        The month from which alarms have been raised, `through` without it; kept at
        the first call and never changed.
    wait_s : float, default 0
        Seconds to wait for another that has the store open.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError, DiskError
        The store cannot be written; nothing was kept.
    """
    store.demand(store_file)
    months = {
        "through": through.replace(day=1),
        "first_live": (first_live or through).replace(day=1),
    }
    with (
        store.open_for_writing(store_file, wait_s=wait_s) as connection,
        store.explaining(store_file),
        store.transaction(connection),
    ):
        before = _count(connection)
        for key in alarms:
            connection.execute(KEEP, [*astuple(key), snapshot, published_at.date()])
        connection.execute(BEGIN_WATCH, months)
        connection.execute(GO_ON, {"through": months["through"]})
        connection.execute(NAME, [str(uuid.uuid4())])
        return _count(connection) - before


def recorded(
    connection: duckdb.DuckDBPyConnection, *, schema: str = "store"
) -> Recorded:
    """Return what was raised until now, from a store that is attached.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    schema : str, default "store"
        The alias of the store, as `attach_read_only` gave it.
    """
    name = f'"{schema}"'
    rows = connection.execute(ALARMS.format(schema=name)).fetchall()
    watch = connection.execute(WATCH.format(schema=name)).fetchone()
    through, first_live = watch or (None, None)
    alarms = tuple(RecordedAlarm(AlarmKey(*row[:5]), *row[5:]) for row in rows)
    name_of_watch = connection.execute(NAMED.format(schema=name)).fetchone()
    return Recorded(
        alarms, through, first_live, name_of_watch[0] if name_of_watch else None
    )


def recorded_alarms(store_file: Path, *, wait_s: float = 0) -> Recorded:
    """Return what was raised until now.

    Parameters
    ----------
    store_file : pathlib.Path
    wait_s : float, default 0
        Seconds to wait for another that writes the store.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    with store.open_for_reading(store_file, wait_s=wait_s) as connection:
        return recorded(connection, schema="main")


def _count(connection: duckdb.DuckDBPyConnection) -> int:
    row = connection.execute(COUNT).fetchone()
    return int(row[0]) if row else 0
