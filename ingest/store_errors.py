"""What an error of the database or the disk means for a person."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from ingest.errors import DiskError, FileError, StoreBusyError
from ingest.migrations import newer, not_a_store

# What DuckDB says when another connection holds the file: one of another process, one
# of this process in another mode, or one of this process that attached it.
TAKEN = ("Conflicting lock", "different configuration", "already attached")
NEWER_FORMAT = "Trying to read a database file with storage version number"
DAMAGED = "Corrupt database file"
NOT_A_DATABASE = "not a valid DuckDB database file"
# What the system says, through the database or by itself.
NO_SPACE = ("No space left", "File too large", "Disk quota exceeded")
NO_LEAVE = (
    "Permission denied",
    "Read-only file system",
    "Operation not permitted",
    "Not a directory",
    "Is a directory",
    "File exists",
    "No such file or directory",
)


@contextmanager
def explaining(path: Path) -> Iterator[None]:
    """Say of an error of the database or the disk what it means for a person."""
    try:
        yield
    except (duckdb.Error, OSError) as error:
        meant = explained(error, path)
        if meant is error:
            raise
        raise meant from None


def explained(error: duckdb.Error | OSError, path: Path) -> Exception:
    """Return what an error means for a person, or the error itself."""
    text = str(error)
    if isinstance(error, OSError) and error.filename:
        path = Path(error.filename)
    if any(words in text for words in TAKEN):
        pid = re.search(r"PID (\d+)", text)
        return busy(path, f"process {pid[1]}" if pid else "this process")
    if NEWER_FORMAT in text:
        return newer(path)
    if DAMAGED in text:
        return FileError(
            f"{path} is damaged: {text.splitlines()[0]}",
            hint="Put the last backup in its place: `mendfleet restore FILE "
            "--replace`.",
        )
    if NOT_A_DATABASE in text:
        return not_a_store(path)
    return _of_the_disk(text, path) or error


def busy(path: Path, holder: str) -> StoreBusyError:
    """Return the error for a store that `holder` has open."""
    return StoreBusyError(
        f"{path} is being written by {holder}.",
        hint="Wait for it to finish, then run the same command again.",
    )


def _of_the_disk(text: str, path: Path) -> DiskError | None:
    if any(words in text for words in NO_SPACE):
        return DiskError(
            f"{path} could not be written: no space is left for it.",
            hint="Make room on the disk, then run the same command again; what was "
            "stored before is whole.",
        )
    found = [words for words in NO_LEAVE if words in text]
    if found:
        return DiskError(
            f"{path} could not be opened or written: {found[0].lower()}.",
            hint="Name a place that is there and that this user may write to.",
        )
    return None
