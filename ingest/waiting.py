"""Rows that earlier files had set aside, as a later file may bring them again.

A row that was set aside because the mapping was wrong is a record when the same file
comes with a better one: then it waits no longer.
"""

import json
from functools import cached_property
from typing import Any

import duckdb
import pyarrow as pa
import pyarrow.compute as pc

from ingest import batch_statements
from ingest.bulk.columns import Mask
from ingest.bulk.plain_text import Arrow
from ingest.readers.source import PlainBlock, SourceRow
from ingest.set_aside import File, RejectedRows


class WaitingRows:
    """The rows of a kind set aside before a batch, and not yet corrected.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    kind, key : str
        The kind of the file, and the first field of its key.
    file : File
    rejected : RejectedRows
        Says how a row would be named if it were set aside.
    batch : int
    """

    def __init__(
        self,
        connection: duckdb.DuckDBPyConnection,
        kind: str,
        key: str,
        file: File,
        rejected: RejectedRows,
        batch: int,
    ) -> None:
        found = connection.execute(
            batch_statements.WAITING_BEFORE, {"kind": kind, "batch": batch}
        ).fetchall()
        # What a key says as it is written; only rows with one of these are looked at.
        own = (column for column, field in file.field_of.items() if field == key)
        self._column = next(own, None)
        self._cells = {json.loads(cells).get(self._column) for _, cells in found}
        self._names = frozenset(name for name, _ in found)
        self._rejected = rejected

    def name(self, row: SourceRow) -> str | None:
        """Return the name of the row set aside that has the cells of this one."""
        if not self._names or row.cells.get(self._column or "") not in self._cells:
            return None
        name = self._rejected.name(row)
        return name if name in self._names else None

    def names(self, block: PlainBlock, sure: Mask) -> Arrow:
        """Return the same as a column, for those rows of a block that are sure."""
        found: list[str | None] = [None] * int(sure.sum())
        if self._names and self._column is not None:
            cells: Any = block.table.column(self._column).filter(pa.array(sure))
            (places,) = pc.is_in(cells, value_set=self._sought).to_numpy().nonzero()
            rows = block.rows(block.row_nos[sure][places])
            for place, row in zip(places.tolist(), rows, strict=True):
                found[place] = self.name(row)
        return pa.array(found, pa.string())

    @cached_property
    def _sought(self) -> Arrow:
        return pa.array([cell for cell in self._cells if cell], pa.string())
