"""One file into the store: judge its rows against what is stored, in whole sets.

Rows come in chunks. Each chunk is staged, its keys are compared with those stored and
with those of the file before it, and only where a key was seen does the content
decide; then what is new is kept. No question is asked per row.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import duckdb
import numpy as np
import pyarrow as pa

from ingest import batch_statements, statements
from ingest.bulk.block import JudgedBlock
from ingest.keys import SeenKeys
from ingest.personal_data import masked_text
from ingest.readers.source import Cell, PlainBlock, Problem, SourceRow
from ingest.records import KindSpec, Record
from ingest.set_aside import MASKED, File, Outcome, RejectedRows, arrow_table
from ingest.waiting import WaitingRows

DUPLICATE = "duplicate_key_in_file"
COUNTED = ("accepted", "unchanged", "replaced", "rejected")
# Fields that hold words of people; what could name one is masked in them.
FREE_TEXT = frozenset({"symptom_text"})
_UNKNOWN_TYPES: dict[str, pa.DataType] = {
    "row_no": pa.int64(), "field": pa.string(), "cell": pa.string()
}  # fmt: skip
UNKNOWN_CELLS = pa.schema(_UNKNOWN_TYPES)


class Batch:
    """The rows of one file on their way into the store.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Open for writing, with a transaction begun.
    spec : KindSpec
    file : File
    """

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, spec: KindSpec, file: File
    ) -> None:
        self._connection = connection
        self._spec = spec
        self._file = file
        self._statements = statements.STATEMENTS[spec.name]
        self._started_at = dt.datetime.now(dt.UTC).replace(tzinfo=None)
        self.number: int = self._one(batch_statements.NEXT_BATCH)
        self._any_stored: bool = self._one(self._statements.any_stored)
        self.outcome = Outcome()
        self._rejected = RejectedRows(connection, spec, file, self.number, self.outcome)
        connection.execute(self._statements.begin)
        self.types: pa.Schema = (
            connection.sql(self._statements.staged_as).to_arrow_table().schema
        )
        self._seen = SeenKeys()
        self._waiting = WaitingRows(
            connection, spec.name, spec.key[0], file, self._rejected, self.number
        )
        # What was taken since the chunk was judged last.
        self._rows: dict[int, SourceRow] = {}
        self._values: list[tuple[object, ...]] = []
        self._blocks: list[PlainBlock] = []
        self._tables: list[pa.Table] = []
        self._unknown: list[tuple[int, str, str]] = []

    def uncorrected(self, row: SourceRow) -> list[Problem]:
        """Return the problems of a row that came back from quarantine as it left."""
        return self._rejected.uncorrected(row)

    def take(
        self,
        row: SourceRow,
        record: Record,
        *,
        unknown: Mapping[str, Cell] | None = None,
    ) -> None:
        """Stage a row that is a record, with the cells of unknown columns to keep."""
        corrects = row.cells.get("rejected_row") or self._waiting.name(row)
        self._values.append(
            (*self._spec.values(record), row.row_no, corrects and str(corrects))
        )
        # Kept until the chunk is judged: a duplicate is set aside whole.
        self._rows[row.row_no] = row
        for name, cell in (unknown or {}).items():
            self._unknown.append((row.row_no, name, str(cell)))

    def take_block(self, block: PlainBlock, judged: JudgedBlock) -> None:
        """Stage the rows of a block that surely are records."""
        row_no = block.row_nos[judged.sure]
        corrects = self._waiting.names(block, judged.sure)
        table = judged.staged.append_column("row_no", pa.array(row_no))
        table = table.append_column("rejected_row", corrects)
        self._tables.append(table.select(self.types.names).cast(self.types))
        self._blocks.append(block)

    def reject(self, row: SourceRow, problems: Sequence[Problem]) -> None:
        """Put a row with its problems on the list to set aside."""
        self._rejected.add(row, problems)

    def judge(self) -> None:
        """Judge and keep the rows taken and rejected since the last time."""
        tables = self._tables
        if self._values:
            tables.append(arrow_table(self._values, self.types))
        if tables:
            self._keep(pa.concat_tables(tables))
        self._values, self._tables = [], []
        self._rows, self._blocks, self._unknown = {}, [], []
        self._rejected.store()

    def finish(
        self,
        *,
        sha256: str,
        complete_through: dt.date | None,
        mapping: str | None,
        decimal_comma: bool,
    ) -> int:
        """Close the batch and return its number.

        A file that was taken in before and changes nothing leaves no trace: the number
        is that of the batch in which it first came.
        """
        self._rejected.resolve()
        outcome = self.outcome
        same = {
            "sha256": sha256,
            "kind": self._spec.name,
            "complete_through": complete_through,
            "mapping": mapping,
        }
        if not outcome.n_changes:
            before = self._connection.execute(
                batch_statements.SAME_FILE, same
            ).fetchall()
            if before:
                self._forget_repeats()
                return int(before[0][0])
        counts = outcome.counts
        about = {
            "started_at": self._started_at,
            "path": self._file.path,
            "decimal_comma": decimal_comma,
        }
        self._connection.execute(
            batch_statements.INSERT_BATCH,
            same
            | about
            | {"batch": self.number, "read": counts.total()}
            | {name: counts[name] for name in COUNTED},
        )
        with self._connection.appender("batch_problems") as rows:
            for name, codes in outcome.by_field().items():
                for code, n_rows in codes.items():
                    rows.append_row(self.number, name, code, n_rows)
        return self.number

    def discard(self) -> None:
        """Take back what this batch has written, inside a transaction that goes on."""
        for statement in (self._statements.discard, *batch_statements.DISCARD):
            self._connection.execute(statement, {"batch": self.number})

    def _keep(self, staged: pa.Table) -> None:
        # The steps in between are Arrow tables that a statement finds by the name of
        # the variable: a temporary table, or a registered one, would hold its memory
        # until the transaction ends, for a large file all of it.
        ask, here = self._connection.execute, {"batch": self.number}
        own = self._statements
        row_no = staged.column("row_no").to_numpy()
        first_of = self._later_rows(staged)
        is_known = np.isin(row_no, list(first_of))
        if self._any_stored:
            stored = ask(own.stored_keys, here).fetchnumpy()["row_no"]
            is_known |= np.isin(row_no, stored)
        fresh = staged.filter(pa.array(~is_known)) if is_known.any() else staged
        ask(own.insert_fresh, here)
        self._count("accepted", fresh.num_rows)
        if self._unknown:
            self._keep_unknown_cells(set(row_no[~is_known].tolist()))
        duplicates: dict[int, int] = {}
        if is_known.any():
            known = staged.filter(pa.array(is_known))
            numbers = row_no[is_known].tolist()
            firsts = pa.table(
                {
                    "row_no": numbers,
                    "first_row_no": [
                        first_of.get(number, number) for number in numbers
                    ],
                }
            )
            duplicates = self._keep_known(known, firsts)
            staged = staged.filter(pa.array(~np.isin(row_no, list(duplicates))))
        self._note(staged)
        own_columns = {name for _, name, _ in self._unknown} if duplicates else set()
        for row in self._rows_of(duplicates):
            self._set_duplicate_aside(row, duplicates[row.row_no], own_columns)

    def _later_rows(self, staged: pa.Table) -> dict[int, int]:
        # By row whose key came before in this file: the first row of that key.
        rows = self._connection.execute(self._statements.digests).fetchnumpy()
        keys = np.asarray(rows["digest"], dtype=np.uint64)
        may_be = self._seen.perhaps(keys)
        self._seen.add(keys)
        if not may_be.any():
            return {}
        places = np.isin(staged.column("row_no").to_numpy(), rows["row_no"][may_be])
        perhaps_seen = staged.filter(pa.array(places))  # noqa: F841 - read by the question
        found = self._connection.execute(
            self._statements.later_rows, {"batch": self.number}
        )
        return dict(found.fetchall())

    def _keep_known(self, known: pa.Table, firsts: pa.Table) -> dict[int, int]:  # noqa: ARG002 - read by `hash` and `judge`
        # Rows of keys that are stored or came before in this file. Returned are those
        # with other content than the first of their key, by row: the first's row.
        ask, here = self._connection.execute, {"batch": self.number}
        own, sql = self._statements, self._connection.sql
        hashed = sql(own.hash).to_arrow_table()  # noqa: F841 - read by `judge`
        judged = sql(own.judge, params=here).to_arrow_table()  # noqa: F841 - read below
        ask(own.insert_judged, here)
        ask(own.remember)
        ask(batch_statements.REPEAT, here | {"kind": self._spec.name})
        counts = dict(ask(batch_statements.COUNT_VERDICTS).fetchall())
        self._count("replaced", counts.get("replaced", 0))
        self._count("unchanged", counts.get("unchanged", 0))
        brought = ask(batch_statements.BROUGHT).fetchall()
        self._keep_unknown_cells({row_no for (row_no,) in brought})
        return dict(ask(batch_statements.DUPLICATES).fetchall())

    def _keep_unknown_cells(self, row_nos: set[int]) -> None:
        cells = [cell for cell in self._unknown if cell[0] in row_nos]
        if cells:
            unknown_cells_of_rows = arrow_table(cells, UNKNOWN_CELLS)  # noqa: F841 - read by the statement
            self._connection.execute(
                batch_statements.KEEP_UNKNOWN_CELLS, {"batch": self.number}
            )

    def _note(self, staged: pa.Table) -> None:
        # What goes with the rows that are no duplicates, stored or not.
        own = self._statements
        if own.count_unknown:
            column, code, _ = statements.REFERS_TO[self._spec.name]
            ((n_unknown,),) = self._connection.execute(own.count_unknown).fetchall()
            self.outcome.problems[column, code] += n_unknown
        corrected = set(staged.column("rejected_row").drop_null().to_pylist())
        self._rejected.corrected(str(name) for name in corrected)

    def _set_duplicate_aside(
        self, row: SourceRow, first: int, own_columns: set[str]
    ) -> None:
        key = ", ".join(self._spec.key)
        words = f"row {first} of this file has the same {key} and other content"
        if self._file.mask:
            # Counted when it was taken, and once more as it is set aside.
            for column, cell in row.cells.items():
                name = self._file.field_of.get(column)
                text = str(cell)
                if name in FREE_TEXT and masked_text(text) != text:
                    self.outcome.problems[name, MASKED] -= 1
                elif column in own_columns and masked_text(text, column=column) != text:
                    self.outcome.problems[column, MASKED] -= 1
        self.reject(row, [Problem(self._spec.key[0], DUPLICATE, words)])

    def _rows_of(self, row_nos: Iterable[int]) -> Iterator[SourceRow]:
        numbers = np.array(sorted(row_nos), np.int64)
        yield from (self._rows[n] for n in numbers.tolist() if n in self._rows)
        for block in self._blocks:
            own = numbers[np.isin(numbers, block.row_nos)]
            if len(own):
                yield from block.rows(own)

    def _count(self, verdict: str, n_rows: int) -> None:
        self.outcome.counts[verdict] += n_rows
        if verdict in {"accepted", "replaced"}:
            self.outcome.n_changes += n_rows

    def _forget_repeats(self) -> None:
        for statement in batch_statements.DISCARD:
            self._connection.execute(statement, {"batch": self.number})

    def _one(self, question: str) -> Any:
        # All rows are fetched: an unfinished answer would block the next appender.
        (row,) = self._connection.execute(question).fetchall()
        return row[0]
