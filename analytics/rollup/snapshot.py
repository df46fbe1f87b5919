"""Snapshots: immutable files of narrow tables, read by every answer.

Readers keep one connection for each snapshot and ask through cursors of it. A file is
never replaced under a connection: a new snapshot has a new name, and `CURRENT` names
the newest.
"""

import datetime as dt
import os
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path

import duckdb
import pandas as pd

from analytics.rollup import sql_files
from ingest.errors import NotPublishedError

POINTER = "CURRENT"


@dataclass(frozen=True, slots=True)
class About:
    """What the figures of a snapshot are.

    Attributes
    ----------
    snapshot : str
        Id; it never names other figures.
    as_of : datetime.date
        Last day the data speak for.
    observation_end : datetime.date
        Last day up to which failures count as known.
    delay_days : int
        How late reports come in: days between those two.
    delay_source : str
        "estimated" from delays on record, or "assumed" from the settings.
    n_delays, n_units, n_cases : int
    origin : str
        "records" or "invented".
    failures_seen : str
        "always" or "in_warranty".
    program : str
        Version that made it.
    suggester : str
        Folder of the fault suggester beside the snapshot.
    published_at : datetime.datetime
        UTC.
    latest_batch : int
        Number of the newest file taken in.
    previous : str or None
        Id of the figures shown when these were first published; None if none were.
    """

    snapshot: str
    as_of: dt.date
    observation_end: dt.date
    delay_days: int
    delay_source: str
    n_delays: int
    origin: str
    failures_seen: str
    program: str
    suggester: str
    published_at: dt.datetime
    n_units: int
    n_cases: int
    latest_batch: int
    previous: str | None

    @property
    def is_invented(self) -> bool:
        """Whether these are the figures of an invented fleet."""
        return self.origin == "invented"


class Snapshot:
    """One published snapshot, open for reading."""

    def __init__(self, file: Path) -> None:
        self._file = file
        self._connection = duckdb.connect(str(file), read_only=True)
        row = {str(k): v for k, v in self.ask("about").iloc[0].to_dict().items()}
        if set(row) != {field.name for field in fields(About)}:
            raise self._of_another_version("about")
        row["as_of"] = pd.Timestamp(row["as_of"]).date()
        row["observation_end"] = pd.Timestamp(row["observation_end"]).date()
        row["published_at"] = pd.Timestamp(row["published_at"]).to_pydatetime()
        row["previous"] = row["previous"] if isinstance(row["previous"], str) else None
        self.about = About(**row)

    def ask(
        self,
        question: str,
        parameters: Mapping[str, object] | None = None,
        *,
        chosen: str | None = None,
    ) -> pd.DataFrame:
        """Return the answer to one of the questions in `questions/`.

        Parameters
        ----------
        question : str
            File name without `.sql`.
        parameters : mapping, optional
            Values by parameter name; those the question does not name are ignored.
        chosen : {"chosen_cases", "chosen_lives", "chosen_units"}, optional
            The choice of rows that the question reads from.

        Raises
        ------
        NotPublishedError
            The snapshot was made by another version of the program and lacks what the
            question reads.
        """
        text = sql_files.statement("questions", question)
        if chosen:
            # A question may begin with tables of its own: they go on from the choice.
            rest = f", {own}" if (own := text.removeprefix("WITH ")) != text else text
            text = f"WITH {chosen} AS (\n{_choice(chosen)}\n)\n{rest}"
        with self._connection.cursor() as cursor:
            try:
                return sql_files.run(cursor, text, parameters or {}).df()
            except (duckdb.CatalogException, duckdb.BinderException) as error:
                raise self._of_another_version(question) from error

    def _of_another_version(self, question: str) -> NotPublishedError:
        return NotPublishedError(
            f"The figures in {self._file.name} were published by another version of "
            f"the program and do not answer {question}.",
            hint="Run `mendfleet publish` to make the figures again.",
        )

    @property
    def folder(self) -> Path:
        """Where this snapshot and those published before it are kept."""
        return self._file.parent

    @property
    def suggester_folder(self) -> Path:
        """Where the fault suggester that goes with this snapshot is kept."""
        return self.folder / self.about.suggester


def _choice(chosen: str) -> str:
    return sql_files.statement("questions", chosen)


@lru_cache(maxsize=4)
def _opened(file: Path) -> Snapshot:
    return Snapshot(file)


def pointed_to(published: Path) -> str | None:
    """Return the id of the figures shown; None if none are."""
    pointer = published / POINTER
    if not pointer.is_file():
        return None
    return pointer.read_text(encoding="utf-8").strip() or None


def current_snapshot(published: Path) -> Snapshot:
    """Return the newest published snapshot, opened once in a process.

    Raises
    ------
    NotPublishedError
        Nothing has been published in that folder.
    """
    shown = pointed_to(published)
    if shown is None:
        raise NotPublishedError(
            f"No figures have been published in {published}.",
            hint="Run `mendfleet publish` after the first ingest.",
        )
    file = published / f"{shown}.duckdb"
    if not file.is_file():
        raise NotPublishedError(
            f"{published / POINTER} names {file.name}, and that file is not there.",
            hint="Run `mendfleet publish` to make the figures again.",
        )
    return _opened(file.resolve())


def previous_snapshot(snapshot: Snapshot) -> Snapshot | None:
    """Return the figures published before these, or None if they cannot be compared.

    They cannot where these are the first: `about.previous` is then None.
    """
    previous = snapshot.about.previous
    return None if previous is None else earlier_snapshot(snapshot, previous)


def earlier_snapshot(snapshot: Snapshot, name: str) -> Snapshot | None:
    """Return earlier figures by their id, or None if they cannot be compared.

    They cannot where the file is gone, or where another version of the program made
    it: what it counted may have been something else.
    """
    file = snapshot.folder / f"{name}.duckdb"
    if not file.is_file():
        return None
    try:
        earlier = _opened(file.resolve())
    except (NotPublishedError, duckdb.Error):
        return None
    return earlier if earlier.about.program == snapshot.about.program else None


def point_to(published: Path, snapshot: str, unfinished: Path) -> None:
    """Put a finished snapshot in its place and point to it.

    The id stands for everything the figures rest on, so a file of that name already
    there holds the same figures and is kept, with the note of what was shown before
    it: readers may have it open.
    """
    file = published / f"{snapshot}.duckdb"
    if not file.exists():
        unfinished.replace(file)
    pointer = published / f"{POINTER}.new"
    with pointer.open("w", encoding="utf-8") as out:
        out.write(f"{snapshot}\n")
        out.flush()
        os.fsync(out.fileno())
    pointer.replace(published / POINTER)
