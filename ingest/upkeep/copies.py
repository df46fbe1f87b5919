"""Whole copies of a store: made in one go, told apart by their content, put in place.

A copy is written to a file of another name first, and only takes its own name when it
is complete: a name never stands for half a copy.
"""

import os
import shutil
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import duckdb

from ingest import store
from ingest.errors import StoreBusyError, UserError

# ruff: noqa: S608 - names come from the database's own list of tables
MANIFEST = "backup_manifest"
TABLES = """
SELECT table_name FROM duckdb_tables()
WHERE database_name = $database AND schema_name = 'main' AND NOT internal
ORDER BY table_name
"""
COLUMNS = """
SELECT column_name FROM duckdb_columns()
WHERE
    database_name = $database
    AND schema_name = 'main'
    AND table_name = $table
ORDER BY column_index
"""
OLD = "replaced"  # ends the name of the store that was there before


@dataclass(frozen=True, slots=True)
class TableContent:
    """How many rows a table has, and a digest of them in any order."""

    n_rows: int
    digest: str


def contents(
    connection: duckdb.DuckDBPyConnection, database: str
) -> dict[str, TableContent]:
    """Return the content of every table of an open or attached database.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    database : str
        Its alias.
    """
    tables = connection.execute(TABLES, {"database": database}).fetchall()
    return {
        name: _content(connection, database, name)
        for (name,) in tables
        if name != MANIFEST
    }


def detach_copy(connection: duckdb.DuckDBPyConnection) -> None:
    """Have all of the copy written to its file, and detach it.

    Detaching alone would say nothing if the disk is full.
    """
    connection.execute("CHECKPOINT copy")
    connection.execute("DETACH copy")


def copy_attached(
    connection: duckdb.DuckDBPyConnection, origin: str, target: Path
) -> None:
    """Copy an attached database into a new file, attached as `copy` afterwards."""
    connection.execute(f"ATTACH {quoted(target)} AS copy")
    connection.execute(f'COPY FROM DATABASE "{origin}" TO copy')
    connection.execute(f"DROP TABLE IF EXISTS copy.{MANIFEST}")


def copy_open(connection: duckdb.DuckDBPyConnection, target: Path) -> None:
    """Copy the store that a connection has open into a new file."""
    row = connection.execute("SELECT current_database()").fetchone()
    copy_attached(connection, str(row[0]) if row else "", target)
    detach_copy(connection)


def quoted(path: Path) -> str:
    """Return a path as ATTACH takes it: no parameter can stand there."""
    text = str(path).replace("'", "''")
    return f"'{text}'"


def clear(path: Path) -> None:
    """Delete a database file that is not needed, and what the database kept beside."""
    for file in (path, beside(path)):
        file.unlink(missing_ok=True)


def beside(path: Path) -> Path:
    """Return the file in which the database keeps its last changes."""
    return path.with_name(f"{path.name}.wal")


def put_in_place(made: Path, store_file: Path) -> Path | None:
    """Give a finished store its name; return where the one before it is kept.

    Raises
    ------
    StoreBusyError
        The store that is there is open elsewhere.
    """
    _settle(store_file)
    old = None
    if store_file.exists():
        old = store_file.with_name(f"{store_file.name}.{OLD}")
        clear(old)
        with suppress(FileNotFoundError):  # only a damaged store still has changes
            beside(store_file).rename(beside(old))
        # A second name for the old file, so that at no moment there is no store.
        try:
            os.link(store_file, old)
        except OSError:  # a disk that knows no second names
            shutil.copy2(store_file, old)
    flush(made)
    made.replace(store_file)
    flush(store_file.parent)
    return old


def put_back(old: Path | None, store_file: Path) -> None:
    """Undo `put_in_place`."""
    if old is None:
        clear(store_file)
        return
    clear(store_file)
    old.replace(store_file)
    with suppress(FileNotFoundError):
        beside(old).rename(beside(store_file))


def flush(path: Path) -> None:
    """Wait until the disk has what was written, or the names in a folder."""
    place = os.open(path, os.O_RDONLY)
    try:
        os.fsync(place)
    finally:
        os.close(place)


def _settle(store_file: Path) -> None:
    # Opened once for writing, a whole store brings in its last changes. A damaged one
    # is replaced as it is.
    if store_file.exists():
        try:
            with store.open_for_writing(store_file) as connection:
                connection.execute("CHECKPOINT")
        except StoreBusyError:
            raise
        except (UserError, duckdb.Error):
            return


def _content(
    connection: duckdb.DuckDBPyConnection, database: str, table: str
) -> TableContent:
    columns = connection.execute(
        COLUMNS, {"database": database, "table": table}
    ).fetchall()
    texts = ", ".join(
        f'coalesce(CAST("{name}" AS VARCHAR), chr(30))' for (name,) in columns
    )
    row = connection.execute(
        f"SELECT count(*), sum(md5_number_lower(concat_ws(chr(31), {texts}))) "
        f'FROM "{database}".main."{table}"'
    ).fetchone()
    n_rows, digest = row or (0, None)
    return TableContent(n_rows, str(digest or 0))
