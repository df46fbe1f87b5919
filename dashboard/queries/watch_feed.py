"""The alarms as a feed: those that stand and those that are past."""

import datetime as dt
import json
import uuid
from collections.abc import Sequence
from typing import cast

from dashboard.atom import Entry, Feed, Link
from dashboard.filters import Filters
from dashboard.queries.answer import INVENTED, Answer, Row
from dashboard.queries.watch import watch
from dashboard.settings import Place
from dashboard.text import words
from ingest.alarms import alarm_notes, recorded_alarms
from ingest.errors import NotPublishedError

TITLE = "mendfleet: recurring failures"
SUBTITLE = (
    "A group is associated with an excess of failures; no entry is a verdict. Set to "
    "about {per_year:g} false alarms a year over the whole fleet."
)


def lasting_id(watch_name: str, alarm: str) -> uuid.UUID:
    """Return a name for an alarm that no other has, of whatever fleet.

    Parameters
    ----------
    watch_name : str
        The random name of the fleet's watch, as the store keeps it.
    alarm : str
        Its id; any other text names something else of that watch.
    """
    return uuid.uuid5(uuid.UUID(watch_name), alarm)


def watch_feed(place: Place, filters: Filters, *, page: str, own: str) -> Feed:
    """Return the alarms as a feed, the latest change first.

    An entry holds what is known of a group and the state, no case, serial or note. It
    changes when the alarm is first seen and with each note. An alarm that the store
    does not have yet, because it was busy, waits for the next publish.

    Parameters
    ----------
    place : Place
    filters : Filters
        Chosen as in the list.
    page, own : str
        The addresses of the page that shows the same, and of the feed.

    Raises
    ------
    NotPublishedError
        Nothing has been published, or nothing watched yet.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    answer = watch(place, filters)
    found = recorded_alarms(place.store, wait_s=place.wait_s)
    if found.watch is None or answer.about is None:
        raise NotPublishedError(
            f"Nothing is watched yet. {answer.more['why_not'] or ''}".rstrip(),
            hint="`mendfleet publish` looks again.",
        )
    notes = alarm_notes(place.store, wait_s=place.wait_s)
    noted_at = {note.alarm: note.noted_at for note in notes}  # the last one stands
    rows = [*answer.rows, *cast("Sequence[Row]", answer.more["past"])]
    entries = [
        _entry(row, noted_at.get(str(row["alarm"])), answer, page, found.watch)
        for row in rows
        if row["first_seen_on"]
    ]
    entries.sort(key=lambda entry: (entry.updated, entry.id), reverse=True)
    chosen = json.dumps(filters.stated(), sort_keys=True)
    return Feed(
        id=lasting_id(found.watch, f"feed {chosen}").urn,
        title=_marked(TITLE, answer),
        subtitle=SUBTITLE.format(per_year=answer.more["false_alarms_per_year"]),
        author="mendfleet",
        updated=entries[0].updated if entries else answer.about.published_at,
        links=[Link(page), Link(own, "self")],
        entries=entries,
    )


def _entry(
    row: Row, noted_at: dt.datetime | None, answer: Answer, page: str, name: str
) -> Entry:
    first_seen = dt.datetime.combine(cast("dt.date", row["first_seen_on"]), dt.time())
    alarm = str(row["alarm"])
    state = words(str(row["state"]))
    said = [row["sentence"], row["explanation"], f"Severity: {row['severity']}."]
    return Entry(
        id=lasting_id(name, alarm).urn,
        title=_marked(f"{row['failure']}, {row['where']}: {state}", answer),
        summary=" ".join(str(part) for part in said if part),
        updated=max(first_seen, noted_at or first_seen),
        published=first_seen,
        links=[Link(f"{page}?alarm={alarm}")],
        categories=[str(row["state"]), str(row["severity"])],
    )


def _marked(title: str, answer: Answer) -> str:
    return f"{title} ({INVENTED})" if answer.invented else title
