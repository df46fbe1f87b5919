"""What is being done about an alarm: noted from a page, and read back."""

import datetime as dt
from collections.abc import Sequence

from dashboard.queries.answer import Row
from dashboard.settings import Place
from ingest.alarms import STATES, AlarmNote, alarm_notes, note_alarm

__all__ = ["STATES", "note", "notes"]


def note(place: Place, alarm: str, state: str, text: str | None) -> AlarmNote:
    """Note what is being done about an alarm; every note is kept, the last one stands.

    Parameters
    ----------
    place : Place
    alarm : str
        Its id.
    state : {"new", "acknowledged", "under_action", "closed"}
    text : str or None
        What was found or done; needed to close an alarm. Personal data are masked
        where the settings say so.

    Returns
    -------
    AlarmNote
        As it was stored.

    Raises
    ------
    UsageError
        No such state, a text too long, or none for an alarm to be closed.
    NotFoundError
        No such alarm.
    NoStoreError, StoreBusyError, StoreNewerError, DiskError
        The store cannot be written.
    """
    return note_alarm(
        place.store,
        alarm,
        state=state,
        text=text,
        noted_at=dt.datetime.now(dt.UTC).replace(tzinfo=None),
        mask=place.settings().mask_personal_data,
        wait_s=place.wait_s,
    )


def notes(place: Place, alarms: Sequence[str]) -> list[Row]:
    """Return the notes of alarms, newest first.

    Parameters
    ----------
    place : Place
    alarms : sequence of str
        All that one row of the watch stands for (its `members`): a note on any of
        them, made before they were seen to have one cause, is a note on the row.

    Returns
    -------
    list of dict
        alarm, noted_at, state, text.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    return [
        {
            "alarm": kept.alarm,
            "noted_at": kept.noted_at,
            "state": kept.state,
            "text": kept.text,
        }
        for kept in reversed(alarm_notes(place.store, wait_s=place.wait_s))
        if kept.alarm in alarms
    ]
