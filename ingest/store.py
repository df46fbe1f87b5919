"""The store: one DuckDB file, one writer at a time.

Only `ingest` opens it for writing. While one process writes, no other can open the
file at all, not even to read: every statistic is therefore read from a published
snapshot, and a process that finds the store taken says which process holds it.
"""

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from ingest.errors import FileError, NoStoreError, RefusedError, StoreBusyError
from ingest.migrations import migrate, newer, not_a_store, refuse_newer

# What DuckDB says when another connection holds the file: one of another process, one
# of this process in another mode, or one of this process that attached it.
TAKEN = ("Conflicting lock", "different configuration", "already attached")
NEWER_FORMAT = "Trying to read a database file with storage version number"
DAMAGED = "Corrupt database file"
NOT_A_DATABASE = "not a valid DuckDB database file"
# Within one process the database itself would let a second writer in.
_WRITERS_TURN = threading.Lock()
_being_written: set[Path] = set()


@contextmanager
def open_for_writing(
    path: Path, *, origin: str = "records"
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store for writing; make it, or bring it up to date, if need be.

    Parameters
    ----------
    path : pathlib.Path
        The store file; its folder is made too.
    origin : {"records", "invented"}
        What a new store holds; a store of records takes no invented rows.

    Yields
    ------
    duckdb.DuckDBPyConnection

    Raises
    ------
    StoreBusyError
        Another process has the store open.
    StoreNewerError
        A newer version of the program wrote it.
    RefusedError
        Invented rows for a store of records, or an edited migration.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with _turn(path):
        connection = _connect(path, read_only=False)
        try:
            migrate(connection, path=path)
            _settle_origin(connection, path, origin)
            yield connection
        finally:
            connection.close()


@contextmanager
def open_in_memory(*, origin: str = "records") -> Iterator[duckdb.DuckDBPyConnection]:
    """Yield an empty store that is gone afterwards: to try files without a store."""
    with duckdb.connect(":memory:") as connection:
        migrate(connection, path=Path(":memory:"))
        _settle_origin(connection, Path(":memory:"), origin)
        yield connection


@contextmanager
def open_for_reading(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store for reading.

    Yields
    ------
    duckdb.DuckDBPyConnection

    Raises
    ------
    NoStoreError
        There is no such file.
    StoreBusyError
        It is being written.
    StoreNewerError
        A newer version of the program wrote it.
    """
    _demand(path)
    connection = _connect(path, read_only=True)
    try:
        refuse_newer(connection, path=path)
        yield connection
    finally:
        connection.close()


def attach_read_only(
    connection: duckdb.DuckDBPyConnection, path: Path, *, alias: str = "store"
) -> None:
    """Attach the store to a connection, to be read only.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        As `open_for_reading`.
    """
    _demand(path)
    # ATTACH takes no parameters: the one place where a path is put into a statement.
    quoted = str(path).replace("'", "''")
    try:
        connection.execute(f"ATTACH '{quoted}' AS \"{alias}\" (READ_ONLY)")
    except duckdb.Error as error:
        raise explained(error, path) from None
    refuse_newer(connection, path=path, database=alias)


def origin(path: Path) -> str | None:
    """Return what the store holds, `records` or `invented`; None without a store."""
    if not path.exists():
        return None
    with open_for_reading(path) as connection:
        return _origin(connection)


@contextmanager
def transaction(
    connection: duckdb.DuckDBPyConnection, *, keep: bool = True
) -> Iterator[None]:
    """Keep all that happens inside; nothing of it after an error or `keep=False`."""
    connection.begin()
    try:
        yield
    except BaseException:
        connection.rollback()
        raise
    if keep:
        connection.commit()
    else:
        connection.rollback()


@contextmanager
def _turn(path: Path) -> Iterator[None]:
    whole = path.resolve()
    with _WRITERS_TURN:
        if whole in _being_written:
            raise _busy(path, "this process")
        _being_written.add(whole)
    try:
        yield
    finally:
        with _WRITERS_TURN:
            _being_written.discard(whole)


def _busy(path: Path, holder: str) -> StoreBusyError:
    return StoreBusyError(
        f"{path} is being written by {holder}.",
        hint="Wait for it to finish, then run the same command again.",
    )


def _demand(path: Path) -> None:
    if not path.exists():
        raise NoStoreError(
            f"There is no store at {path}.",
            hint="Take files in first: `mendfleet ingest FILE`.",
        )


def _connect(path: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    try:
        return duckdb.connect(str(path), read_only=read_only)
    except duckdb.Error as error:
        raise explained(error, path) from None


def explained(error: duckdb.Error, path: Path) -> Exception:
    """Return what an error of the database means for a person, or the error itself."""
    text = str(error)
    if any(words in text for words in TAKEN):
        pid = re.search(r"PID (\d+)", text)
        return _busy(path, f"process {pid[1]}" if pid else "this process")
    if NEWER_FORMAT in text:
        return newer(path)
    if DAMAGED in text:
        return FileError(
            f"{path} is damaged: {text.splitlines()[0]}",
            hint="Put the last copy of it in its place.",
        )
    if NOT_A_DATABASE in text:
        return not_a_store(path)
    return error


def _origin(connection: duckdb.DuckDBPyConnection) -> str:
    question = "SELECT max(value) FROM store_about WHERE key = 'origin'"
    row = connection.execute(question).fetchone()
    return str(row[0]) if row else "records"


def _settle_origin(
    connection: duckdb.DuckDBPyConnection, path: Path, origin: str
) -> None:
    connection.execute(
        "INSERT OR IGNORE INTO store_about VALUES ('origin', ?)", [origin]
    )
    if origin == "invented" and _origin(connection) != origin:
        raise RefusedError(
            f"{path} holds records; invented rows are not mixed with them.",
            hint="Name another folder with `--data` for the invented fleet.",
        )
