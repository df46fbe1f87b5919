"""One file into the store: judge its rows against what is stored, in whole sets.

Rows come in chunks. Each chunk is staged in a temporary table, compared with every
version ever stored by its content, with the newest by its key, and with the first row
of each key of the same file; then what is new is kept. No question is asked per row.
"""

import datetime as dt
import hashlib
import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import duckdb
import pyarrow as pa

from ingest import statements
from ingest.readers.source import Cell, Problem, SourceRow
from ingest.records import KindSpec, Record

DUPLICATE = "duplicate_key_in_file"
# Columns of a correction file that are ours; every kind takes them without notice.
CONTROL_COLUMNS = ("problems", "rejected_row")
ID_DIGITS = 24  # of a digest: enough to tell all rows of a lifetime apart
_SET_ASIDE_TYPES: dict[str, pa.DataType] = {
    "rejected_row": pa.string(),
    "row_no": pa.int64(),
    "cells": pa.string(),
    "problems": pa.string(),
}
SET_ASIDE = pa.schema(_SET_ASIDE_TYPES)
COUNTED = ("accepted", "unchanged", "replaced", "rejected")


@dataclass(slots=True)
class Outcome:
    """What happened to the rows of one file so far.

    Attributes
    ----------
    counts : Counter
        Rows `accepted`, `unchanged`, `replaced`, `rejected`.
    problems : Counter
        Rows by (field, code); problems and notices.
    n_changes : int
        Rows of the store that were added or changed.
    """

    counts: Counter[str] = field(default_factory=Counter)
    problems: Counter[tuple[str, str]] = field(default_factory=Counter)
    n_changes: int = 0

    def by_field(self) -> dict[str, dict[str, int]]:
        """Return the rows with a problem or notice by field, then by code."""
        found: dict[str, dict[str, int]] = {}
        for (name, code), n_rows in sorted(self.problems.items()):
            if n_rows:
                found.setdefault(name, {})[code] = n_rows
        return found


class Batch:
    """The rows of one file on their way into the store.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Open for writing, with a transaction begun.
    spec : KindSpec
    path : str
        The file, as it was given.
    columns : sequence of str
        Its column names, in order: rejected rows are kept with all of them.
    """

    def __init__(
        self,
        connection: duckdb.DuckDBPyConnection,
        spec: KindSpec,
        path: str,
        columns: Sequence[str],
    ) -> None:
        self._connection = connection
        self._spec = spec
        self._path = path
        self._columns = columns
        self._rows: dict[int, SourceRow] = {}
        self._rejected: list[tuple[SourceRow, Sequence[Problem]]] = []
        self._hidden: dict[str, str] | None = None
        self._staged: list[tuple[object, ...]] = []
        self._statements = statements.STATEMENTS[spec.name]
        self._started_at = dt.datetime.now(dt.UTC).replace(tzinfo=None)
        self.number: int = self._one(statements.NEXT_BATCH)
        self.outcome = Outcome()
        self._connection.execute(self._statements.begin)
        self._types = connection.sql(self._statements.staged_as).to_arrow_table().schema

    def uncorrected(self, row: SourceRow) -> list[Problem]:
        """Return the problems of a row that came back from quarantine as it left.

        Only those that its cells alone do not show: a second row of a key, or bytes
        that did not decode, would else be taken for corrected when sent alone.
        """
        if "rejected_row" not in row.cells:
            return []
        if self._hidden is None:
            found = self._connection.execute(
                statements.HIDDEN_PROBLEMS, {"kind": self._spec.name}
            ).fetchall()
            self._hidden = dict(found)
        cells = kept_cells(row, self._columns)
        problems = self._hidden.get(rejected_row_id(self._spec.name, cells))
        return [Problem(**p) for p in json.loads(problems)] if problems else []

    def take(self, row: SourceRow, record: Record) -> None:
        """Stage a row that is a record."""
        corrects = row.cells.get("rejected_row")
        self._staged.append(
            (*self._spec.values(record), row.row_no, corrects and str(corrects))
        )
        # Kept until the chunk is judged: a duplicate is set aside whole.
        self._rows[row.row_no] = row

    def reject(self, row: SourceRow, problems: Sequence[Problem]) -> None:
        """Put a row with its problems on the list to set aside."""
        self._rejected.append((row, problems))

    def judge(self) -> None:
        """Judge and keep the rows taken and rejected since the last time."""
        if self._staged:
            self._keep()
            self._staged.clear()
            self._rows.clear()
        if self._rejected:
            self._set_aside()
            self._rejected.clear()

    def finish(self, *, sha256: str, complete_through: dt.date | None) -> int:
        """Close the batch and return its number.

        A file that was taken in before and changes nothing leaves no trace: the number
        is that of the batch in which it first came.
        """
        outcome = self.outcome
        same = {
            "sha256": sha256,
            "kind": self._spec.name,
            "complete_through": complete_through,
        }
        if not outcome.n_changes:
            before = self._connection.execute(statements.SAME_FILE, same).fetchall()
            if before:
                return int(before[0][0])
        counts = outcome.counts
        self._connection.execute(
            statements.INSERT_BATCH,
            same
            | {"batch": self.number, "started_at": self._started_at, "path": self._path}
            | {name: counts[name] for name in COUNTED}
            | {"read": counts.total()},
        )
        with self._connection.appender("batch_problems") as rows:
            for name, codes in outcome.by_field().items():
                for code, n_rows in codes.items():
                    rows.append_row(self.number, name, code, n_rows)
        return self.number

    def discard(self) -> None:
        """Take back what this batch has written, inside a transaction that goes on."""
        for statement in (self._statements.discard, statements.DISCARD_REJECTED):
            self._connection.execute(statement, {"batch": self.number})

    def _keep(self) -> None:
        # The steps in between are Arrow tables that a statement finds by the name of
        # the variable: a temporary table, or a registered one, would hold its memory
        # until the transaction ends, for a large file all of it.
        here = {"batch": self.number}
        ask, sql = self._connection.execute, self._connection.sql
        own = self._statements
        staged = _arrow(self._staged, self._types)  # noqa: F841 - read by `hash`
        hashed = sql(own.hash).to_arrow_table()  # noqa: F841 - read by the next two
        ask(own.first_rows)
        judged = sql(own.judge, params=here).to_arrow_table()  # noqa: F841 - read below
        ask(own.insert, here)
        counts = dict(ask(statements.COUNT_VERDICTS).fetchall())
        ((corrected,),) = ask(statements.CORRECTED).fetchall()
        duplicates = ask(statements.DUPLICATES).fetchall()
        if own.count_unknown:
            column, code, _ = statements.REFERS_TO[self._spec.name]
            ((n_unknown,),) = ask(own.count_unknown).fetchall()
            self.outcome.problems.update({(column, code): n_unknown})
        self._resolve(corrected)
        for row_no, first_row_no in duplicates:
            self.reject(self._rows[row_no], [self._duplicate(first_row_no)])
        counts.pop(DUPLICATE, None)
        self.outcome.counts.update(counts)
        self.outcome.n_changes += counts.get("accepted", 0) + counts.get("replaced", 0)

    def _duplicate(self, first_row: int) -> Problem:
        key = ", ".join(self._spec.key)
        words = f"row {first_row} of this file has the same {key} and other content"
        return Problem(self._spec.key[0], DUPLICATE, words)

    def _set_aside(self) -> None:
        corrected = []
        rows: list[tuple[object, ...]] = []
        for row, problems in self._rejected:
            self.outcome.problems.update({(p.field, p.code) for p in problems})
            cells = kept_cells(row, self._columns)
            name = rejected_row_id(self._spec.name, cells)
            corrects = row.cells.get("rejected_row")
            if corrects and corrects != name:
                corrected.append(str(corrects))
            rows.append((name, row.row_no, _json(cells), _json(problems)))
        self.outcome.counts["rejected"] += len(rows)
        about = {"kind": self._spec.name, "batch": self.number, "path": self._path}
        set_aside = _arrow(rows, SET_ASIDE)  # noqa: F841 - read by the statement
        kept = self._connection.execute(statements.QUARANTINE, about).fetchall()
        self.outcome.n_changes += len(kept)
        # A correction that is wrong again takes the place of the row it corrects.
        self._resolve(corrected)

    def _resolve(self, rejected_rows: Sequence[str] | None) -> None:
        if rejected_rows:
            resolved = self._connection.execute(
                statements.RESOLVE, {"batch": self.number, "rows": list(rejected_rows)}
            ).fetchall()
            self.outcome.n_changes += len(resolved)

    def _one(self, question: str) -> Any:
        # All rows are fetched: an unfinished answer would block the next appender.
        (row,) = self._connection.execute(question).fetchall()
        return row[0]


def _arrow(rows: Sequence[tuple[object, ...]], types: pa.Schema) -> pa.Table:
    columns = zip(types, zip(*rows, strict=True), strict=True)
    arrays = [pa.array(values, field.type) for field, values in columns]
    return pa.Table.from_arrays(arrays, schema=types)


def kept_cells(row: SourceRow, columns: Sequence[str]) -> dict[str, str | None]:
    """Return all cells of a row under the file's own names, as text, in order.

    The columns of a correction file that are ours are left out: they say nothing
    about the row.
    """
    names = dict.fromkeys((*columns, *row.cells))
    return {
        name: _text(row.cells.get(name))
        for name in names
        if name not in CONTROL_COLUMNS
    }


def rejected_row_id(kind: str, cells: Mapping[str, str | None]) -> str:
    """Return what names a rejected row: the same cells of a kind have the same."""
    recorded = sorted((name, text) for name, text in cells.items() if text is not None)
    return hashlib.sha256(_json([kind, recorded]).encode()).hexdigest()[:ID_DIGITS]


def _text(cell: Cell | None) -> str | None:
    if isinstance(cell, bool):
        return str(cell).upper()  # as a spreadsheet shows it
    return None if cell is None else str(cell)


def _json(content: object) -> str:
    return json.dumps(content, ensure_ascii=False, default=asdict)
