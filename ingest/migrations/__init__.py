"""The store's layout, step by step; a step that was released never changes."""

import datetime as dt
import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import duckdb

from ingest.errors import FileError, RefusedError, StoreNewerError

FILE_NAME = re.compile(r"([0-9]{4})_(\w+)\.sql")
LEDGER = """
CREATE TABLE IF NOT EXISTS schema_migrations (
    version INTEGER PRIMARY KEY,
    name VARCHAR NOT NULL,
    checksum VARCHAR NOT NULL,
    applied_at TIMESTAMP NOT NULL
)
"""
HAS_LEDGER = """
SELECT count(*) FROM duckdb_tables()
WHERE
    database_name = coalesce($database, current_database())
    AND table_name = 'schema_migrations'
"""


@dataclass(frozen=True, slots=True)
class Migration:
    """One step of the store's layout."""

    version: int
    name: str
    sql: str

    @property
    def checksum(self) -> str:
        """The SHA-256 of the step's text."""
        return hashlib.sha256(self.sql.encode()).hexdigest()


def steps() -> tuple[Migration, ...]:
    """Return the steps that this program knows, oldest first."""
    found = [
        Migration(int(name[1]), name[2], file.read_text("utf-8"))
        for file in resources.files(__name__).iterdir()
        if (name := FILE_NAME.fullmatch(file.name))
    ]
    return tuple(sorted(found, key=lambda step: step.version))


def migrate(
    connection: duckdb.DuckDBPyConnection,
    *,
    path: Path,
    known: Sequence[Migration] | None = None,
) -> None:
    """Apply the steps that the store lacks, each in a transaction of its own.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Open for writing.
    path : pathlib.Path
        Named in messages.
    known : sequence of Migration, optional
        Without it the steps of the program.

    Raises
    ------
    StoreNewerError
        The store has a step that is not known here.
    RefusedError
        A step applied before now has another text.
    """
    known = steps() if known is None else known
    connection.execute(LEDGER)
    for step in lacking(connection, path=path, known=known):
        _apply(connection, step)


def lacking(
    connection: duckdb.DuckDBPyConnection,
    *,
    path: Path,
    known: Sequence[Migration] | None = None,
) -> list[Migration]:
    """Return the steps that the store lacks.

    Raises
    ------
    StoreNewerError, RefusedError
        As `migrate`.
    """
    known = steps() if known is None else known
    applied = refuse_newer(connection, path=path, known=known)
    for step in known:
        if applied.get(step.version, step.checksum) != step.checksum:
            raise RefusedError(
                f"Migration {step.version:04}_{step.name} is not the one that made "
                f"{path}: its text was changed afterwards.",
                hint="Install the program again; a released migration never changes.",
            )
    return [step for step in known if step.version not in applied]


def refuse_newer(
    connection: duckdb.DuckDBPyConnection,
    *,
    path: Path,
    known: Sequence[Migration] | None = None,
    database: str | None = None,
) -> dict[int, str]:
    """Return the checksum of each step applied, by version.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    path : pathlib.Path
        Named in messages.
    known : sequence of Migration, optional
        Without it the steps of the program.
    database : str, optional
        The alias of an attached store; without it the connection's own.

    Raises
    ------
    StoreNewerError
        The store has a step that is not known here.
    FileError
        The file is a database, and not a store.
    """
    found = connection.execute(HAS_LEDGER, {"database": database}).fetchone()
    if found == (0,):
        raise not_a_store(path)
    # A name cannot be a parameter of a statement.
    ledger = f'"{database}".schema_migrations' if database else "schema_migrations"
    question = f"SELECT version, checksum FROM {ledger}"  # noqa: S608 - our own alias
    applied = dict(connection.execute(question).fetchall())
    known = steps() if known is None else known
    if max(applied, default=0) > max((step.version for step in known), default=0):
        raise newer(path)
    return applied


def newer(path: Path) -> StoreNewerError:
    """Return the error for a store of a newer version."""
    return StoreNewerError(
        f"{path} was written by a newer version of the program.",
        hint="Install that version or a later one; nothing was changed.",
    )


def not_a_store(path: Path) -> FileError:
    """Return the error for a file that is something else."""
    return FileError(
        f"{path} is not a store of this program.",
        hint="Name another folder with `--data`, or move the file away.",
    )


def _apply(connection: duckdb.DuckDBPyConnection, step: Migration) -> None:
    now = dt.datetime.now(dt.UTC).replace(tzinfo=None)
    connection.begin()
    try:
        connection.execute(step.sql)
        connection.execute(
            "INSERT INTO schema_migrations VALUES (?, ?, ?, ?)",
            [step.version, step.name, step.checksum, now],
        )
    except BaseException:
        connection.rollback()
        raise
    connection.commit()
