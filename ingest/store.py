"""The store: one DuckDB file, one writer at a time.

Only `ingest` opens it for writing. While one process writes, no other can open the
file at all, not even to read: every statistic is therefore read from a published
snapshot, and a process that finds the store taken says which process holds it.
"""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeVar

import duckdb

from ingest.errors import NoStoreError, RefusedError, StoreBusyError
from ingest.migrations import lacking, migrate, refuse_newer
from ingest.store_errors import busy, explained, explaining

__all__ = [
    "attach_read_only",
    "demand",
    "explained",
    "explaining",
    "open_for_reading",
    "open_for_writing",
    "open_in_memory",
    "origin",
    "transaction",
]

PAUSE_S = 0.05  # between two tries to open a store that is taken
# Within one process the database itself would let a second writer in.
_WRITERS_TURN = threading.Lock()
_being_written: set[Path] = set()

_T = TypeVar("_T")


@contextmanager
def open_for_writing(
    path: Path, *, origin: str = "records", wait_s: float = 0
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store for writing; make it, or bring it up to date, if need be.

    Parameters
    ----------
    path : pathlib.Path
        The store file; its folder is made too.
    origin : {"records", "invented"}
        What a new store holds; a store of records takes no invented rows.
    wait_s : float, default 0
        Seconds to wait for another that has the store open.

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
    DiskError
        The disk is full, or the place may not be written; nothing was changed.
    """
    until = time.monotonic() + wait_s
    with explaining(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    with _turn(path, until):
        connection = _patiently(lambda: _connect(path, read_only=False), until)
        try:
            with explaining(path):
                _remove_left_over(path)
                migrate(connection, path=path)
                _settle_origin(connection, path, origin)
                yield connection
        finally:
            connection.close()


@contextmanager
def open_in_memory(
    *, origin: str = "records", moved_out_to: Path | None = None
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Yield an empty store that is gone afterwards: to try files without a store.

    Parameters
    ----------
    origin : {"records", "invented"}
    moved_out_to : pathlib.Path, optional
        Takes what does not stay in memory; without it all of it does.
    """
    folder = str(moved_out_to or "")
    with duckdb.connect(":memory:", config={"temp_directory": folder}) as connection:
        migrate(connection, path=Path(":memory:"))
        _settle_origin(connection, Path(":memory:"), origin)
        yield connection


@contextmanager
def open_for_reading(
    path: Path, *, wait_s: float = 0, as_it_is: bool = False
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store for reading.

    Parameters
    ----------
    path : pathlib.Path
    wait_s : float, default 0
        Seconds to wait for another that writes it.
    as_it_is : bool, default False
        Read a store of an older version too; else it is brought up to date first.

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
    RefusedError
        An edited migration made it.
    DiskError
        It is of an older version, and the place may not be written.
    """
    demand(path)
    until = time.monotonic() + wait_s
    connection = _patiently(lambda: _connect(path, read_only=True), until)
    try:
        refuse_newer(connection, path=path)
        if not as_it_is and lacking(connection, path=path):
            connection.close()
            with open_for_writing(path, wait_s=until - time.monotonic()):
                pass
            connection = _patiently(lambda: _connect(path, read_only=True), until)
        yield connection
    finally:
        connection.close()


def attach_read_only(
    connection: duckdb.DuckDBPyConnection,
    path: Path,
    *,
    alias: str = "store",
    wait_s: float = 0,
) -> None:
    """Attach the store to a connection, to be read only.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    path : pathlib.Path
    alias : str, default "store"
    wait_s : float, default 0
        Seconds to wait for another that writes it.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        As `open_for_reading`.
    """
    demand(path)
    until = time.monotonic() + wait_s
    _patiently(lambda: _attach(connection, path, alias), until)
    refuse_newer(connection, path=path, database=alias)


def origin(path: Path, *, wait_s: float = 0) -> str | None:
    """Return what the store holds, `records` or `invented`; None without a store."""
    if not path.exists():
        return None
    with open_for_reading(path, wait_s=wait_s, as_it_is=True) as connection:
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
        with suppress(duckdb.Error):  # a full disk may have ended it already
            connection.rollback()
        raise
    if keep:
        connection.commit()
    else:
        connection.rollback()


def _remove_left_over(path: Path) -> None:
    # What the database of a killed process had moved out of memory holds records too.
    # No other can have the store open now.
    folder = path.with_name(f"{path.name}.tmp")
    for file in folder.glob("duckdb_temp_*"):
        file.unlink(missing_ok=True)


def _patiently(attempt: Callable[[], _T], until: float) -> _T:
    while True:
        try:
            return attempt()
        except StoreBusyError:
            if time.monotonic() >= until:
                raise
        time.sleep(PAUSE_S)


@contextmanager
def _turn(path: Path, until: float) -> Iterator[None]:
    whole = path.resolve()
    _patiently(lambda: _take_turn(path, whole), until)
    try:
        yield
    finally:
        with _WRITERS_TURN:
            _being_written.discard(whole)


def _take_turn(path: Path, whole: Path) -> None:
    with _WRITERS_TURN:
        if whole in _being_written:
            raise busy(path, "this process")
        _being_written.add(whole)


def demand(path: Path) -> None:
    """Refuse to go on without a store.

    Raises
    ------
    NoStoreError
        There is no such file.
    """
    if not path.exists():
        raise NoStoreError(
            f"There is no store at {path}.",
            hint="Take files in first: `mendfleet ingest FILE`.",
        )


def _connect(path: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    with explaining(path):
        return duckdb.connect(str(path), read_only=read_only)


def _attach(connection: duckdb.DuckDBPyConnection, path: Path, alias: str) -> None:
    # ATTACH takes no parameters: the one place where a path is put into a statement.
    quoted = str(path).replace("'", "''")
    with explaining(path):
        connection.execute(f"ATTACH '{quoted}' AS \"{alias}\" (READ_ONLY)")


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
