"""One file into the store: judge its rows against what is stored, in whole sets.

Rows come in chunks. Each chunk is staged in a temporary table, compared with every
version ever stored by its content, with the newest by its key, and with the first row
of each key of the same file; then what is new is kept. No question is asked per row.
"""

import datetime as dt
import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import duckdb

from ingest import statements
from ingest.readers.source import Cell, Problem, SourceRow
from ingest.records import KindSpec, Record

DUPLICATE = "duplicate_key_in_file"
# Columns of a correction file that are ours; every kind takes them without notice.
CONTROL_COLUMNS = ("problems", "rejected_row")
ID_DIGITS = 24  # of a digest: enough to tell all rows of a lifetime apart
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


class Batch:
    """The rows of one file on their way into the store."""

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, spec: KindSpec, path: str
    ) -> None:
        self._connection = connection
        self._spec = spec
        self._path = path
        self._statements = statements.STATEMENTS[spec.name]
        self._started_at = dt.datetime.now(dt.UTC).replace(tzinfo=None)
        self.number: int = self._one(statements.NEXT_BATCH)
        self.outcome = Outcome()
        for statement in self._statements.stage:
            connection.execute(statement)

    def add(
        self,
        records: Sequence[tuple[SourceRow, Record]],
        rejected: Sequence[tuple[SourceRow, Sequence[Problem]]],
        *,
        columns: Sequence[str],
    ) -> None:
        """Judge and keep one chunk of rows.

        Parameters
        ----------
        records : sequence of (SourceRow, Record)
        rejected : sequence of (SourceRow, problems)
        columns : sequence of str
            Column names of the file, in order: rejected rows are kept with all.
        """
        duplicates = self._keep(records)
        self._set_aside([*rejected, *duplicates], columns)

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
            for (name, code), n_rows in sorted(outcome.problems.items()):
                rows.append_row(self.number, name, code, n_rows)
        return self.number

    def discard(self) -> None:
        """Take back what this batch has written, inside a transaction that goes on."""
        for statement in (self._statements.discard, statements.DISCARD_REJECTED):
            self._connection.execute(statement, {"batch": self.number})

    def _keep(
        self, records: Sequence[tuple[SourceRow, Record]]
    ) -> list[tuple[SourceRow, Sequence[Problem]]]:
        if not records:
            return []
        spec, here = self._spec, {"batch": self.number}
        columns = [*spec.columns, "row_no", "rejected_row"]
        with self._connection.appender("staged", columns=columns) as staged:
            for row, record in records:
                corrects = row.cells.get("rejected_row")
                staged.append_row(
                    *spec.values(record), row.row_no, corrects and str(corrects)
                )
        self._connection.execute(self._statements.first_rows)
        self._connection.execute(self._statements.judge, here)
        self._connection.execute(self._statements.insert, here)
        self._connection.execute("DELETE FROM staged")
        counts = dict(self._connection.execute(statements.COUNT_VERDICTS).fetchall())
        n_duplicates = counts.pop(DUPLICATE, 0)
        self.outcome.counts.update(counts)
        self.outcome.n_changes += counts.get("accepted", 0) + counts.get("replaced", 0)
        self._resolve(self._one(statements.CORRECTED))
        self._count_unknown()
        return self._duplicates(records) if n_duplicates else []

    def _duplicates(
        self, records: Sequence[tuple[SourceRow, Record]]
    ) -> list[tuple[SourceRow, Sequence[Problem]]]:
        first_rows = dict(self._connection.execute(statements.DUPLICATES).fetchall())
        return [
            (row, [self._duplicate(first_rows[row.row_no])])
            for row, _ in records
            if row.row_no in first_rows
        ]

    def _duplicate(self, first_row: int) -> Problem:
        key = ", ".join(self._spec.key)
        words = f"row {first_row} of this file has the same {key} and other content"
        return Problem(self._spec.key[0], DUPLICATE, words)

    def _count_unknown(self) -> None:
        if self._statements.count_unknown:
            column, code, _ = statements.REFERS_TO[self._spec.name]
            if found := self._one(self._statements.count_unknown):
                self.outcome.problems[column, code] += found

    def _set_aside(
        self,
        rejected: Iterable[tuple[SourceRow, Sequence[Problem]]],
        columns: Sequence[str],
    ) -> None:
        corrected = []
        n_rejected = 0
        with self._connection.appender("set_aside") as rows:
            for row, problems in rejected:
                n_rejected += 1
                self.outcome.problems.update({(p.field, p.code) for p in problems})
                cells = kept_cells(row, columns)
                name = rejected_row_id(self._spec.name, cells)
                corrects = row.cells.get("rejected_row")
                if corrects and corrects != name:
                    corrected.append(str(corrects))
                rows.append_row(name, row.row_no, _json(cells), _json(problems))
        if not n_rejected:
            return
        self.outcome.counts["rejected"] += n_rejected
        kept = self._connection.execute(
            statements.QUARANTINE,
            {"kind": self._spec.name, "batch": self.number, "path": self._path},
        ).fetchall()
        self._connection.execute("DELETE FROM set_aside")
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
