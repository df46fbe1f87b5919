"""Take one ingest back: the store is then as if that file had never come.

Its versions go, so older ones stand again. A row that a later file brought as well,
and that counted as unchanged there, now stands as that file's own. Rows set aside go
with it, or belong to the later file that has them too; rows that it had corrected
wait again. The batch stays listed as taken back, and its number is not used again.

A row set aside that two files corrected counts as corrected by the first: when that
one is taken back it waits again, until the second is taken in once more. A file taken
in twice without a change is one ingest, and taken back as one.

A later file's counts follow where its own rows moved; what it counted as replaced
stays so, as that is what happened on the day.
"""

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import duckdb

from ingest import batch_statements, statements, store
from ingest.errors import NotFoundError, RefusedError
from ingest.readers.source import Problem
from ingest.records import KINDS, KindSpec
from ingest.set_aside import as_json, rejected_row_id
from ingest.upkeep import undo_statements as sql

DUPLICATE = "duplicate_key_in_file"


@dataclass(frozen=True, slots=True)
class UndoReport:
    """What taking a batch back did.

    Attributes
    ----------
    batch : int
    file, kind : str
    n_removed : int
        Rows that are gone; an older version of theirs, if any, stands again.
    n_kept : int
        Rows that stay because a later file brought the same.
    n_set_aside_removed : int
        Rows set aside by this batch alone: they wait no longer.
    n_waiting_again : int
        Rows set aside that this batch had corrected.
    """

    batch: int
    file: str
    kind: str
    n_removed: int
    n_kept: int
    n_set_aside_removed: int
    n_waiting_again: int


def undo(store_file: Path, batch: int) -> UndoReport:
    """Take one ingest back, in one transaction.

    Parameters
    ----------
    store_file : pathlib.Path
    batch : int
        Its number.

    Returns
    -------
    UndoReport

    Raises
    ------
    NotFoundError
        There is no such batch.
    RefusedError
        It was taken back before.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be written.
    """
    store.demand(store_file)
    with (
        store.open_for_writing(store_file) as connection,
        store.transaction(connection),
    ):
        file, kind = _standing(connection, store_file, batch)
        n_kept, n_removed = _versions(connection, KINDS[kind], batch)
        n_set_aside = _rejected_rows(connection, batch)
        waiting = connection.execute(sql.WAIT_AGAIN, {"batch": batch}).fetchall()
        for (
            statement
        ) in batch_statements.DISCARD:  # what is left of it, of whatever table
            connection.execute(statement, {"batch": batch})
        now = dt.datetime.now(dt.UTC).replace(tzinfo=None)
        connection.execute(sql.TAKEN_BACK, {"batch": batch, "now": now})
    return UndoReport(batch, file, kind, n_removed, n_kept, n_set_aside, len(waiting))


def _standing(
    connection: duckdb.DuckDBPyConnection, store_file: Path, batch: int
) -> tuple[str, str]:
    found = connection.execute(sql.ABOUT, {"batch": batch}).fetchone()
    if found is None:
        highest = _count(connection, sql.HIGHEST)
        raise NotFoundError(
            f"There is no batch {batch} in {store_file}; the last one is {highest}.",
            hint="`mendfleet quality --json` names every file with its batch.",
        )
    file, kind, undone_at = found
    if undone_at:
        raise RefusedError(
            f"Batch {batch}, {file}, was taken back on {undone_at:%Y-%m-%d}.",
            hint="Ingest the file again to have its rows back.",
        )
    return str(file), str(kind)


def _versions(
    connection: duckdb.DuckDBPyConnection, spec: KindSpec, batch: int
) -> tuple[int, int]:
    here = {"batch": batch, "kind": spec.name}
    next_later = sql.NEXT_LATER.format(
        table=spec.table, digest=statements.content_hash(spec)
    )
    n_kept = 0
    after: int | None = batch
    while after := _count(
        connection,
        next_later,
        here | {"after": after},
    ):
        n_kept += _stand_in(connection, spec, here | {"later": after})
    of_batch = f"FROM {spec.table} WHERE batch = $batch"
    n_removed = _count(connection, f"SELECT count(*) {of_batch}", {"batch": batch})
    connection.execute(f"DELETE {of_batch}", {"batch": batch})
    return n_kept, n_removed


def _stand_in(
    connection: duckdb.DuckDBPyConnection, spec: KindSpec, here: dict[str, object]
) -> int:
    made = sql.STAND_IN.format(
        table=spec.table,
        columns=", ".join(f'"{name}"' for name in spec.columns),
        digest=statements.content_hash(spec),
        same_key_as_gone=_same_key(spec, "gone", "version"),
        same_key_as_others=_same_key(spec, "others", "repeated"),
        same_key_as_older=_same_key(spec, "older", "repeated"),
    )
    connection.execute(made, here)
    later = {"later": here["later"]}
    second = _set_second_rows_aside(connection, spec, later)
    connection.execute(sql.MOVE.format(table=spec.table), later)
    connection.execute(sql.RECOUNT, later)
    connection.execute(sql.NO_REPEATS, later | {"kind": spec.name})
    return _count(connection, "SELECT count(*) FROM standing_in") - second


def _set_second_rows_aside(
    connection: duckdb.DuckDBPyConnection, spec: KindSpec, later: dict[str, object]
) -> int:
    # The file's own cells are not kept of a row that was unchanged: they are written
    # anew from what was stored.
    texts = ", ".join(_text(name) for name in spec.fields)
    rows = connection.execute(sql.SECOND.format(texts=texts)).fetchall()
    key = ", ".join(spec.key)
    words = f"another row of this file has the same {key} and other content"
    problems = as_json([Problem(spec.key[0], DUPLICATE, words)])
    for *values, row_no, n_rows in rows:
        cells = dict(zip(spec.fields, values, strict=True))
        name = {"rejected_row": rejected_row_id(spec.name, cells), "row_no": row_no}
        name["problems"] = problems
        about = {"kind": spec.name, "cells": as_json(cells)}
        kept = connection.execute(sql.SET_ASIDE, later | name | about).fetchall()
        if not kept:
            connection.execute(sql.SET_ASIDE_AGAIN, later | name)
        problem = {"field": spec.key[0], "code": DUPLICATE, "n_rows": n_rows}
        connection.execute(sql.COUNT_PROBLEM, later | problem)
    return len(rows)


def _same_key(spec: KindSpec, left: str, right: str) -> str:
    return " AND ".join(
        f'{left}."{name}" IS NOT DISTINCT FROM {right}."{name}"' for name in spec.key
    )


def _text(name: str) -> str:
    if name.endswith("month"):
        return f"strftime({name}, '%Y-%m')"
    return f'CAST("{name}" AS VARCHAR)'


def _rejected_rows(connection: duckdb.DuckDBPyConnection, batch: int) -> int:
    connection.execute(sql.TAKE_OVER, {"batch": batch})
    connection.execute(sql.MOVE_REJECTED)
    connection.execute(sql.NO_REJECTED_REPEATS)
    left = "SELECT count(*) FROM rejected_rows WHERE batch = $batch"
    return _count(connection, left, {"batch": batch})


def _count(
    connection: duckdb.DuckDBPyConnection,
    question: str,
    parameters: dict[str, object] | None = None,
) -> int:
    row = connection.execute(question, parameters or {}).fetchone()
    return int(row[0]) if row and row[0] is not None else 0
