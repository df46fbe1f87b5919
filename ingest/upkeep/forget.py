"""Forget a serial or a technician: a new, random name everywhere in the store.

The work is done on a copy, which is copied once more before it takes the store's
place: blocks that the database had set free would still hold the old name. Until that
moment the store is as it was, so a command that is broken off is run again.

Digests are made anew over the new name, as the old ones would tell who tries names
which one it was. Taking an old file in again brings the old name back.
"""

import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import duckdb

from ingest import store
from ingest.errors import NotFoundError, RefusedError, UsageError
from ingest.upkeep import copies, renaming
from ingest.upkeep.backup import UNFINISHED

Kind = Literal["serial", "technician"]
KINDS: tuple[Kind, ...] = ("serial", "technician")
SHORTEST = 2  # a single letter stands for too much in free text

# Of rows set aside, only those whose own column is called as the field.
KNOWN = {
    "serial": """
    SELECT
        EXISTS (SELECT 1 FROM unit_versions WHERE serial = upper($name))
        OR EXISTS (
            SELECT 1 FROM repair_versions
            WHERE serial = upper($name) OR replaced_by_serial = upper($name)
        )
        OR EXISTS (SELECT 1 FROM usage_versions WHERE serial = upper($name))
        OR EXISTS (SELECT 1 FROM status_versions WHERE serial = upper($name))
        OR EXISTS (
            SELECT 1 FROM rejected_rows
            WHERE
                upper(trim(cells ->> 'serial')) = upper($name)
                OR upper(trim(cells ->> 'replaced_by_serial')) = upper($name)
        )
    """,
    "technician": """
    SELECT
        EXISTS (
            SELECT 1 FROM repair_versions WHERE lower(technician) = lower($name)
        )
        OR EXISTS (
            SELECT 1 FROM rejected_rows
            WHERE lower(trim(cells ->> 'technician')) = lower($name)
        )
    """,
}

FORGOTTEN = """
INSERT OR REPLACE INTO store_about
SELECT 'forgotten', CAST(coalesce(max(CAST(value AS BIGINT)), 0) + 1 AS VARCHAR)
FROM store_about
WHERE key = 'forgotten'
"""


@dataclass(frozen=True, slots=True)
class ForgetReport:
    """What forgetting a name did.

    Attributes
    ----------
    kind : {"serial", "technician"}
    pseudonym : str
        What stands in its place now.
    n_rows : int
        Rows of the store that were changed.
    """

    kind: Kind
    pseudonym: str
    n_rows: int


def forget(store_file: Path, name: str, *, kind: str | None = None) -> ForgetReport:
    """Put a random name in the place of a serial or a technician, everywhere.

    Parameters
    ----------
    store_file : pathlib.Path
    name : str
        In any case of letters.
    kind : {"serial", "technician"}, optional
        Needed only where the name is both.

    Returns
    -------
    ForgetReport

    Raises
    ------
    NotFoundError
        Nothing in the store is called so.
    RefusedError
        The name is a serial and a technician, and `kind` does not say which.
    UsageError
        `kind` is no kind, or the name too short to be told apart.
    DiskError
        There is no room for two copies of the store.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be written.
    """
    wanted = name.strip()
    if kind not in (None, *KINDS):
        raise UsageError(
            f"{kind} cannot be forgotten.", hint="Say `--as serial` or technician."
        )
    if len(wanted) < SHORTEST:
        raise UsageError(
            f"The name {wanted!r} is too short to be told from other text.",
            hint="Name the whole serial or technician.",
        )
    store.demand(store_file)
    first, second = (
        store_file.with_name(f"{store_file.name}.{number}.{UNFINISHED}")
        for number in (1, 2)
    )
    with store.explaining(store_file):
        try:
            copies.clear(first)
            copies.clear(second)
            # Open for writing all along, so that nothing is stored in between.
            with store.open_for_writing(store_file) as connection:
                found = _kind_of(connection, store_file, wanted, kind)
                copies.copy_open(connection, first)
                report = _renamed(first, wanted, found)
                _rewritten(first, second)
                copies.flush(second)
                second.replace(store_file)
                copies.flush(store_file.parent)
        finally:
            copies.clear(first)
            copies.clear(second)
    return report


def _kind_of(
    connection: duckdb.DuckDBPyConnection,
    store_file: Path,
    name: str,
    kind: str | None,
) -> Kind:
    known = [
        each
        for each in KINDS
        if kind in (None, each)
        and connection.execute(KNOWN[each], {"name": name}).fetchone() == (True,)
    ]
    if not known:
        what = kind or "serial or technician"
        raise NotFoundError(
            f"There is no {what} {name} in {store_file}.",
            hint="Look at the spelling; a name that stands in free text alone is "
            "not looked for.",
        )
    if len(known) > 1:
        raise RefusedError(
            f"{name} is both a serial and a technician in {store_file}.",
            hint="Add `--as serial` or `--as technician`.",
        )
    return known[0]


def _renamed(file: Path, name: str, kind: Kind) -> ForgetReport:
    pseudonym = f"gone-{secrets.token_hex(6)}"
    if kind == "serial":
        pseudonym = pseudonym.upper()
    with (
        duckdb.connect(str(file)) as connection,
        store.transaction(connection),
    ):
        n_rows = renaming.rename(connection, kind, name, pseudonym)
        connection.execute(FORGOTTEN)
    return ForgetReport(kind, pseudonym, n_rows)


def _rewritten(first: Path, second: Path) -> None:
    with duckdb.connect() as connection:
        store.attach_read_only(connection, first, alias="renamed")
        copies.copy_attached(connection, "renamed", second)
        copies.detach_copy(connection)
        # Read again from the file: it takes the place of the only store.
        store.attach_read_only(connection, second, alias="again")
        is_whole = copies.contents(connection, "renamed") == copies.contents(
            connection, "again"
        )
    if not is_whole:
        raise RefusedError(
            f"The copy {second} does not hold the same; nothing was changed.",
            hint="Look after the disk, then run the same command again.",
        )
