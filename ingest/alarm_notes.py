"""What is being done about an alarm, and to whom it was sent.

A note is free text of a person: personal data are masked before it is stored, as in
records. A name cannot be told from its shape; `forget` puts the random name in the
place of a serial or technician here too.
"""

import datetime as dt
import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

import duckdb

from ingest import store
from ingest.errors import NotFoundError, UsageError
from ingest.personal_data import masked_text

State = Literal["new", "acknowledged", "under_action", "closed"]
STATES: tuple[State, ...] = get_args(State)
LONGEST_NOTE = 2000  # characters

KNOWN = "SELECT alarm FROM alarms ORDER BY alarm"
NOTE = """
INSERT INTO alarm_notes
SELECT coalesce(max(note), 0) + 1, $alarm, $state, $text, $noted_at FROM alarm_notes
"""
NOTES = "SELECT alarm, state, note_text, noted_at FROM alarm_notes ORDER BY note"
SENT = "SELECT alarm FROM alarm_deliveries WHERE destination = $destination"
SEND = """
INSERT INTO alarm_deliveries
SELECT alarm, $destination, $sent_at FROM alarms WHERE alarm = $alarm
ON CONFLICT DO NOTHING
"""


@dataclass(frozen=True, slots=True)
class AlarmNote:
    """What was said of an alarm.

    Attributes
    ----------
    alarm : str
    state : {"new", "acknowledged", "under_action", "closed"}
    text : str or None
    noted_at : datetime.datetime
        UTC.
    """

    alarm: str
    state: State
    text: str | None
    noted_at: dt.datetime


def note_alarm(
    store_file: Path,
    alarm: str,
    *,
    state: str,
    text: str | None,
    noted_at: dt.datetime,
    mask: bool = True,
    wait_s: float = 0,
) -> AlarmNote:
    """Keep what is being done about an alarm; the latest note stands.

    Parameters
    ----------
    store_file : pathlib.Path
    alarm : str
        Its id.
    state : {"new", "acknowledged", "under_action", "closed"}
    text : str or None
        Needed to close an alarm; at most 2 000 characters.
    noted_at : datetime.datetime
        UTC.
    mask : bool, default True
        Mask personal data in the text, as in records.
    wait_s : float, default 0
        Seconds to wait for another that has the store open.

    Returns
    -------
    AlarmNote
        As it was stored.

    Raises
    ------
    UsageError
        No such state, a text too long, or none for an alarm to be closed.
    NotFoundError
        No such alarm; names the nearest.
    NoStoreError, StoreBusyError, StoreNewerError, DiskError
        The store cannot be written.
    """
    if state not in STATES:
        raise UsageError(
            f"{state} is no state of an alarm.",
            hint=f"States: {', '.join(STATES)}. {_nearest(state, STATES)}".strip(),
        )
    said = (text or "").strip() or None
    if said and len(said) > LONGEST_NOTE:
        raise UsageError(
            f"The note has {len(said)} characters; at most {LONGEST_NOTE} are kept.",
            hint="Shorten it, or say where the whole text is found.",
        )
    if state == "closed" and not said:
        raise UsageError(
            "An alarm is closed with a word of what was found or done.",
            hint="Add it: `--text T`.",
        )
    if said and mask:
        said = masked_text(said)
    store.demand(store_file)
    with (
        store.open_for_writing(store_file, wait_s=wait_s) as connection,
        store.explaining(store_file),
        store.transaction(connection),
    ):
        name = _known(connection, store_file, alarm)
        connection.execute(
            NOTE, {"alarm": name, "state": state, "text": said, "noted_at": noted_at}
        )
    return AlarmNote(name, state, said, noted_at)


def alarm_notes(store_file: Path, *, wait_s: float = 0) -> tuple[AlarmNote, ...]:
    """Return every note, oldest first: the last one of an alarm stands.

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
        return tuple(AlarmNote(*row) for row in connection.execute(NOTES).fetchall())


def unsent(
    store_file: Path, alarms: Iterable[str], *, destination: str, wait_s: float = 0
) -> tuple[str, ...]:
    """Return those of some alarms that were not sent to a place yet, in their order.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    with store.open_for_reading(store_file, wait_s=wait_s) as connection:
        rows = connection.execute(SENT, {"destination": destination}).fetchall()
    sent = {name for (name,) in rows}
    return tuple(alarm for alarm in alarms if alarm not in sent)


def mark_sent(
    store_file: Path,
    alarms: Iterable[str],
    *,
    destination: str,
    sent_at: dt.datetime,
    wait_s: float = 0,
) -> None:
    """Keep that alarms were sent to a place; the first time stands.

    Alarms that are not recorded are passed over.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError, DiskError
        The store cannot be written.
    """
    store.demand(store_file)
    with (
        store.open_for_writing(store_file, wait_s=wait_s) as connection,
        store.explaining(store_file),
        store.transaction(connection),
    ):
        for alarm in alarms:
            connection.execute(
                SEND, {"alarm": alarm, "destination": destination, "sent_at": sent_at}
            )


def _known(connection: duckdb.DuckDBPyConnection, store_file: Path, alarm: str) -> str:
    wanted = alarm.strip().lower()
    known = [str(name) for (name,) in connection.execute(KNOWN).fetchall()]
    if wanted in known:
        return wanted
    raise NotFoundError(
        f"There is no alarm {wanted} in {store_file}.",
        hint=_nearest(wanted, known)
        or "`mendfleet watch` lists all; `mendfleet publish` looks for new ones.",
    )


def _nearest(word: str, known: Sequence[str]) -> str:
    near = difflib.get_close_matches(word, known, n=1)
    return f"The nearest is {near[0]}." if near else ""
