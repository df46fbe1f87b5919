"""The files of published figures as files: looked over, withdrawn, cleared away."""

import datetime as dt
import re
import secrets
import shutil
from contextlib import suppress
from pathlib import Path

import duckdb

from analytics.rollup.snapshot import POINTER, Snapshot, pointed_to
from analytics.rollup.watch_cache import PREFIX
from analytics.rollup.work_space import moved_out_of
from ingest import store
from ingest.errors import StoreBusyError, UserError

UNFINISHED = "unfinished"
# All that publishing ever writes; anything else in the folder is the user's own.
OURS = re.compile(
    rf"[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}-[0-9a-f]+\.duckdb(\.wal)?|suggester-.+"
    rf"|{PREFIX}[0-9a-f]+(\.tmp)?\.npz"
    rf"|{UNFINISHED}.*\.duckdb(\.wal|\.tmp)?|{POINTER}(\.new)?"
)


def day_shown(published: Path) -> dt.date | None:
    """Return the day the figures shown speak for; None if none are shown."""
    shown = pointed_to(published)
    return dt.date.fromisoformat(shown[:10]) if shown else None


def withdraw(published: Path) -> int:
    """Delete all published figures and trained suggesters; return how many there were.

    The pointer goes first: figures half deleted are never shown.
    """
    if not published.is_dir():
        return 0
    (published / POINTER).unlink(missing_ok=True)
    found = [file for file in published.iterdir() if OURS.fullmatch(file.name)]
    for file in found:
        if file.is_dir():
            shutil.rmtree(file)
        else:
            file.unlink()
    return len(found)


def pointer_fault(published: Path) -> str | None:
    """Return what is wrong with the figures shown, as a sentence; None if nothing."""
    pointer = published / POINTER
    if not pointer.is_file():
        return None
    name = pointer.read_text(encoding="utf-8").strip()
    file = published / f"{name}.duckdb"
    if not file.is_file():
        return f"{pointer} names {file.name}, and that file is not there."
    try:
        with store.explaining(file):
            about = Snapshot(file).about
    except (UserError, duckdb.Error) as error:
        return f"{file} cannot be read: {str(error).splitlines()[0]}"
    if about.snapshot != name:
        return f"{file} holds the figures {about.snapshot}."
    return None


def unfinished_file(published: Path) -> Path:
    """Return the name of a file to publish into, which no other publish has.

    What a publish that was broken off has left is deleted; one that runs goes on.
    """
    published.mkdir(parents=True, exist_ok=True)
    _clear_unfinished(published)
    return published / f"{UNFINISHED}-{secrets.token_hex(4)}.duckdb"


def _clear_unfinished(published: Path) -> None:
    for file in published.glob(f"{UNFINISHED}*.duckdb"):
        try:
            duckdb.connect(str(file), read_only=True).close()
        except duckdb.Error as error:
            if isinstance(store.explained(error, file), StoreBusyError):
                continue
        clear(file)


def clear(unfinished: Path) -> None:
    """Delete a file that was not finished; where that is not allowed, leave it."""
    shutil.rmtree(moved_out_of(unfinished), ignore_errors=True)
    with suppress(OSError):
        for file in (unfinished, unfinished.with_name(f"{unfinished.name}.wal")):
            file.unlink(missing_ok=True)
