"""A backup: one file with all of the store, and a manifest to check it by.

The manifest is a table of the file itself, one row for each table of the store with
its number of rows and a digest of them: it cannot be lost, and a backup that was
altered or damaged is told from one that is whole. The database checks every block it
reads as well.
"""

import datetime as dt
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import duckdb

from ingest import migrations, store
from ingest.errors import FileError, RefusedError
from ingest.upkeep import copies
from ingest.upkeep.copies import MANIFEST, TableContent

UNFINISHED = "unfinished"  # ends the name of a file that is being made

MAKE_MANIFEST = f"""
CREATE TABLE copy.{MANIFEST} (
    made_at TIMESTAMP NOT NULL,
    program VARCHAR NOT NULL,
    schema_version INTEGER NOT NULL,
    table_name VARCHAR PRIMARY KEY,
    n_rows BIGINT NOT NULL,
    digest VARCHAR NOT NULL
)
"""

READ_MANIFEST = f"""
SELECT made_at, program, schema_version, table_name, n_rows, digest
FROM backup.{MANIFEST}
ORDER BY table_name
"""  # noqa: S608 - our own name

HAS_MANIFEST = f"""
SELECT count(*) FROM duckdb_tables()
WHERE database_name = 'backup' AND table_name = '{MANIFEST}'
"""  # noqa: S608 - our own name


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds.

    Attributes
    ----------
    made_at : datetime.datetime
        In UTC.
    program : str
        Version that made it.
    schema_version : int
        The last migration of the store.
    tables : dict of str to TableContent
        By name.
    """

    made_at: dt.datetime
    program: str
    schema_version: int
    tables: dict[str, TableContent]


def backup(store_file: Path, out: Path) -> Manifest:
    """Write the whole store to one new file, and check that it holds the same.

    Parameters
    ----------
    store_file : pathlib.Path
    out : pathlib.Path
        Its folder is there; the file is not.

    Returns
    -------
    Manifest

    Raises
    ------
    RefusedError
        There is a file of that name, or the copy does not hold the same.
    DiskError
        The file cannot be written.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    _refuse_taken(out)
    unfinished = out.with_name(f"{out.name}.{UNFINISHED}")
    with store.explaining(out):
        try:
            copies.clear(unfinished)
            made = _copied(store_file, unfinished)
            if _checked(unfinished) != made:
                raise RefusedError(
                    f"The copy of {store_file} does not hold the same; it was deleted.",
                    hint="Look after the disk, then make the backup again.",
                )
            copies.flush(unfinished)
            _refuse_taken(out)
            unfinished.rename(out)
            copies.flush(out.parent)
        finally:
            copies.clear(unfinished)
    return made


def restore(file: Path, store_file: Path, *, replace: bool = False) -> Manifest:
    """Put a backup in the place of the store, after checking all of it.

    Parameters
    ----------
    file : pathlib.Path
        Written by `backup`.
    store_file : pathlib.Path
    replace : bool, default False
        Take the place of a store that is there. It is kept until the new one is in
        its place and was read.

    Returns
    -------
    Manifest

    Raises
    ------
    FileError
        The file is no backup, or is damaged.
    RefusedError
        There is a store and `replace` was not asked for, or a migration was edited.
    StoreNewerError
        A newer version of the program wrote the backup.
    StoreBusyError
        The store is open elsewhere.
    DiskError
        The disk is full, or the place may not be written.
    """
    if store_file.exists() and not replace:
        raise RefusedError(
            f"There is a store at {store_file}; nothing was changed.",
            hint="Add `--replace` to put the backup in its place, or name another "
            "folder with `--data`.",
        )
    manifest = _checked(file)
    unfinished = store_file.with_name(f"{store_file.name}.{UNFINISHED}")
    with store.explaining(store_file):
        try:
            store_file.parent.mkdir(parents=True, exist_ok=True)
            copies.clear(unfinished)
            _unpacked(file, unfinished)
            old = copies.put_in_place(unfinished, store_file)
        finally:
            copies.clear(unfinished)
        _verify_in_place(store_file, manifest, old)
    return manifest


def _refuse_taken(out: Path) -> None:
    if out.exists():
        raise RefusedError(
            f"{out} is there already; a backup never overwrites a file.",
            hint="Name a new file, for example one with the day in its name.",
        )


def _copied(store_file: Path, out: Path) -> Manifest:
    with duckdb.connect() as connection:
        store.attach_read_only(connection, store_file)
        applied = migrations.refuse_newer(connection, path=store_file, database="store")
        copies.copy_attached(connection, "store", out)
        now = dt.datetime.now(dt.UTC).replace(tzinfo=None)
        made = Manifest(
            now,
            version("mendfleet"),
            max(applied),
            copies.contents(connection, "store"),
        )
        connection.execute(MAKE_MANIFEST)
        head = (made.made_at, made.program, made.schema_version)
        connection.executemany(
            f"INSERT INTO copy.{MANIFEST} VALUES (?, ?, ?, ?, ?, ?)",  # noqa: S608 - our own name
            [
                (*head, name, table.n_rows, table.digest)
                for name, table in made.tables.items()
            ],
        )
        copies.detach_copy(connection)
    return made


def _checked(file: Path) -> Manifest:
    if not file.is_file():
        raise FileError(
            f"There is no file {file}.",
            hint="Name a file that `mendfleet backup` wrote.",
        )
    with duckdb.connect() as connection:
        try:
            with store.explaining(file):
                store.attach_read_only(connection, file, alias="backup")
                return _read(connection, file)
        except duckdb.Error as error:
            # Whatever the database stumbles over: the file is not what was written.
            if "in-memory" in str(error):  # how it says that it is no database
                raise _no_backup(file, "it is of another kind") from None
            raise _damaged(file, str(error).splitlines()[0]) from None


def _read(connection: duckdb.DuckDBPyConnection, file: Path) -> Manifest:
    if connection.execute(HAS_MANIFEST).fetchone() == (0,):
        raise _no_backup(file, "it has no manifest")
    _refuse_edited(connection, file)
    rows = connection.execute(READ_MANIFEST).fetchall()
    if not rows:
        raise _damaged(file, "its manifest is empty")
    made_at, program, schema_version, *_ = rows[0]
    tables = {row[3]: TableContent(row[4], row[5]) for row in rows}
    manifest = Manifest(made_at, program, schema_version, tables)
    found = copies.contents(connection, "backup")
    if found != manifest.tables:
        names = sorted(manifest.tables.keys() | found.keys())
        wrong = [n for n in names if manifest.tables.get(n) != found.get(n)]
        raise _damaged(file, f"{', '.join(wrong)} is not as it was written")
    return manifest


def _refuse_edited(connection: duckdb.DuckDBPyConnection, file: Path) -> None:
    applied = migrations.refuse_newer(connection, path=file, database="backup")
    known = {step.version: step.checksum for step in migrations.steps()}
    edited = [n for n, checksum in applied.items() if known.get(n) != checksum]
    if edited:
        raise RefusedError(
            f"{file} was made with another migration {edited[0]:04}.",
            hint="Install the version of the program that made it.",
        )


def _unpacked(file: Path, out: Path) -> None:
    with duckdb.connect() as connection:
        store.attach_read_only(connection, file, alias="backup")
        copies.copy_attached(connection, "backup", out)
        copies.detach_copy(connection)


def _verify_in_place(store_file: Path, manifest: Manifest, old: Path | None) -> None:
    try:
        is_whole = _contents_of(store_file) == manifest.tables
    except BaseException:
        copies.put_back(old, store_file)
        raise
    if not is_whole:
        copies.put_back(old, store_file)
        raise RefusedError(
            f"{store_file} did not take the backup; what was there before is back.",
            hint="Look after the disk, then restore again.",
        )
    with store.open_for_writing(store_file):
        pass  # brought up to date, if it is of an older version
    if old:
        copies.clear(old)


def _contents_of(store_file: Path) -> dict[str, TableContent]:
    with store.open_for_reading(store_file, as_it_is=True) as connection:
        name = connection.execute("SELECT current_database()").fetchone()
        return copies.contents(connection, str(name[0]) if name else "")


def _no_backup(file: Path, why: str) -> FileError:
    return FileError(
        f"{file} is no backup: {why}.",
        hint="Name a file that `mendfleet backup` wrote.",
    )


def _damaged(file: Path, why: str) -> FileError:
    return FileError(
        f"{file} is damaged: {why}.",
        hint="Take another backup; nothing was changed.",
    )
