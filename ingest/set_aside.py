"""Rows set aside: kept whole, each once, under a name made from their cells."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field

import duckdb
import pyarrow as pa

from ingest import batch_statements
from ingest.personal_data import masked_cells, masked_problems
from ingest.readers.source import Cell, Problem, SourceRow
from ingest.records import KindSpec

# Columns of a correction file that are ours; every kind takes them without notice.
CONTROL_COLUMNS = ("problems", "rejected_row")
ID_DIGITS = 24  # of a digest: enough to tell all rows of a lifetime apart
MASKED = "personal_data_masked"
_TYPES: dict[str, pa.DataType] = {
    "rejected_row": pa.string(),
    "row_no": pa.int64(),
    "cells": pa.string(),
    "problems": pa.string(),
    "read_as": pa.int64(),
}
SET_ASIDE = pa.schema(_TYPES)


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


@dataclass(frozen=True, slots=True)
class File:
    """The file that a batch is made from.

    Attributes
    ----------
    path : str
        As it was given.
    columns : tuple of str
        Its column names, in order: rows set aside are kept with all of them.
    field_of : dict of str to str
        Our field for each of them that stands for one.
    mask : bool
        Personal data is masked before anything is stored.
    read_as : mapping of str to int
        By row set aside that a row of this file corrects: the batch whose mapping and
        decimal commas it is read with, where these are not the file's own.
    """

    path: str
    columns: tuple[str, ...]
    field_of: dict[str, str]
    mask: bool = True
    read_as: Mapping[str, int] = field(default_factory=dict)


class RejectedRows:
    """The rows of one file that are set aside.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    spec : KindSpec
    file : File
    batch : int
    outcome : Outcome
        Counted on.
    """

    def __init__(
        self,
        connection: duckdb.DuckDBPyConnection,
        spec: KindSpec,
        file: File,
        batch: int,
        outcome: Outcome,
    ) -> None:
        self._connection = connection
        self._spec = spec
        self._file = file
        self._batch = batch
        self._outcome = outcome
        self._rows: list[tuple[SourceRow, Sequence[Problem]]] = []
        self._hidden: dict[str, str] | None = None
        # Of a correction file: the rows that its rows correct, those of them whose
        # correction is set aside as well, and all that it sets aside.
        self._corrected: set[str] = set()
        self._wrong_again: list[tuple[str, str]] = []
        self._names: set[str] = set()

    def add(self, row: SourceRow, problems: Sequence[Problem]) -> None:
        """Put a row with its problems on the list."""
        self._rows.append((row, problems))

    def uncorrected(self, row: SourceRow) -> list[Problem]:
        """Return the problems of a row that came back from quarantine as it left.

        Only those that its cells alone do not show: a second row of a key, or bytes
        that did not decode, would else be taken for corrected when sent alone.
        """
        if "rejected_row" not in row.cells:
            return []
        if self._hidden is None:
            found = self._connection.execute(
                batch_statements.HIDDEN_PROBLEMS, {"kind": self._spec.name}
            ).fetchall()
            self._hidden = dict(found)
        problems = self._hidden.get(self.name(row))
        return [Problem(**p) for p in json.loads(problems)] if problems else []

    def name(self, row: SourceRow) -> str:
        """Return what names this row if it is set aside."""
        cells = kept_cells(self._masked(row)[0], self._file.columns)
        return rejected_row_id(self._spec.name, cells)

    def store(self) -> None:
        """Set the rows of the list aside."""
        if not self._rows:
            return
        rows: list[tuple[object, ...]] = []
        for row, problems in self._rows:
            counted = {(p.field, p.code) for p in problems}
            masked, columns = self._masked(row)
            counted |= {(self._field(column), MASKED) for column in columns}
            self._outcome.problems.update(counted)
            cells = kept_cells(masked, self._file.columns)
            name = rejected_row_id(self._spec.name, cells)
            if "rejected_row" in self._file.columns:
                self._names.add(name)
                if corrects := row.cells.get("rejected_row"):
                    self._wrong_again.append((str(corrects), name))
            told = masked_problems(problems) if self._file.mask else problems
            corrects = str(row.cells.get("rejected_row"))
            way = self._file.read_as.get(corrects, self._batch)
            rows.append((name, row.row_no, as_json(cells), as_json(told), way))
        self._rows.clear()
        self._outcome.counts["rejected"] += len(rows)
        self._insert(rows)

    def corrected(self, rejected_rows: Iterable[str]) -> None:
        """Note rows set aside that rows taken from this file correct."""
        self._corrected.update(rejected_rows)

    def resolve(self) -> None:
        """Mark the rows that this file corrects, when all of it is read.

        A correction that is wrong again takes the place of the row it corrects: only
        if it waits itself. One that leads back to a row corrected before would else
        leave neither. What the file sets aside again is not corrected by it.
        """
        ask = self._connection.execute
        names = {"rows": [name for _, name in self._wrong_again]}
        waiting = set(ask(batch_statements.WAITING, names).fetchall())
        replaced = {old for old, name in self._wrong_again if (name,) in waiting}
        rows = sorted((self._corrected | replaced) - self._names)
        if rows:
            resolved = ask(
                batch_statements.RESOLVE, {"batch": self._batch, "rows": rows}
            ).fetchall()
            self._outcome.n_changes += len(resolved)

    def _insert(self, rows: list[tuple[object, ...]]) -> None:
        ask, here = self._connection.execute, {"batch": self._batch}
        about = {"kind": self._spec.name, "path": self._file.path}
        set_aside = arrow_table(rows, SET_ASIDE)  # noqa: F841 - read by the statements
        ask(batch_statements.REPEAT_REJECTED, here)
        kept = ask(batch_statements.QUARANTINE, here | about).fetchall()
        self._outcome.n_changes += len(kept)

    def _field(self, column: str) -> str:
        if column in self._file.field_of:
            return self._file.field_of[column]
        # A column that was left out may be called as a field is.
        return f"column {column}" if column in self._spec.fields else column

    def _masked(self, row: SourceRow) -> tuple[SourceRow, list[str]]:
        if not self._file.mask:
            return row, []
        by_name: dict[str, Cell] = {}
        for column, cell in row.cells.items():
            # A row that could not be cut is one cell, whatever its column is called.
            name = "row" if row.problem and len(row.cells) == 1 else self._field(column)
            while name in by_name:  # a column that is called as one left out is told
                name += "_"
            by_name[name] = cell
        cells, names = masked_cells(
            by_name,
            fields=frozenset(self._spec.fields),
            free_text=frozenset(),
            set_aside=True,
        )
        back = dict(zip(cells, row.cells, strict=True))
        return (
            SourceRow(row.row_no, {back[n]: c for n, c in cells.items()}, row.problem),
            [back[name] for name in names],
        )


def arrow_table(rows: Sequence[tuple[object, ...]], types: pa.Schema) -> pa.Table:
    """Return rows of values as columns."""
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
    return hashlib.sha256(as_json([kind, recorded]).encode()).hexdigest()[:ID_DIGITS]


def as_json(content: object) -> str:
    """Return problems or cells as the text in which they are kept."""
    return json.dumps(content, ensure_ascii=False, default=asdict)


def _text(cell: Cell | None) -> str | None:
    if isinstance(cell, bool):
        return str(cell).upper()  # as a spreadsheet shows it
    return None if cell is None else str(cell)
