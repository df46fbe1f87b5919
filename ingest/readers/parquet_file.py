"""Parquet: batch by batch, each value as the text it stands for."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from ingest.errors import FileError
from ingest.readers.source import (
    NoValue,
    PlainBlock,
    Source,
    SourceRow,
    as_cell,
    column_names,
    row_of,
)

ROWS_AT_ONCE = 10_000
# What a value raises that Python cannot hold.
UNFIT = (pa.ArrowException, ValueError, OverflowError)
BROKEN = (*UNFIT, OSError)


def read_parquet(path: Path) -> Source:
    """Open a Parquet file as far as its schema.

    Raises
    ------
    FileError
        Not a Parquet file, no column, or two columns of one name.
    """
    try:
        with pq.ParquetFile(path) as file:
            names = column_names(path, file.schema_arrow.names)
            total = file.metadata.num_rows
    except PermissionError:
        raise
    except BROKEN as error:
        raise _unreadable(path) from error
    return Source(
        names,
        partial(_rows, path, names),
        total=total,
        blocks=partial(_blocks, path, names),
    )


def _rows(path: Path, names: tuple[str, ...]) -> Iterator[SourceRow]:
    for row_no, batch in _batches(path):
        yield from _rows_of(batch, names, row_no)


def _blocks(path: Path, names: tuple[str, ...]) -> Iterator[PlainBlock | SourceRow]:
    for row_no, batch in _batches(path):
        found = [_texts(column) for column in batch.columns]
        columns = [column for column in found if column is not None]
        if len(columns) < len(found) or len(found) > len(names):
            # A cell without a column, or that is no text: its row has to be told so.
            yield from _rows_of(batch, names, row_no)
        else:
            table = pa.table(dict(zip(names, columns, strict=True)))
            yield PlainBlock(np.arange(row_no, row_no + batch.num_rows), table)


def _batches(path: Path) -> Iterator[tuple[int, pa.RecordBatch]]:
    # With the number of the first row of each.
    row_no = 2
    try:
        with pq.ParquetFile(path) as file:
            for batch in file.iter_batches(ROWS_AT_ONCE):
                yield row_no, batch
                row_no += batch.num_rows
    except PermissionError:
        raise
    except BROKEN as error:
        raise _unreadable(path) from error


def _rows_of(
    batch: pa.RecordBatch, names: tuple[str, ...], row_no: int
) -> Iterator[SourceRow]:
    columns = [_values(column) for column in batch.columns]
    for place, cells in enumerate(zip(*columns, strict=True)):
        yield row_of(names, cells, row_no + place)


def _texts(column: "pa.Array[Any]") -> "pa.Array[Any] | None":
    # Each value once, as the text it stands for; None if one of them is none.
    try:
        encoded = column.dictionary_encode()
    except pa.ArrowNotImplementedError:  # lists
        values, at = column, None
    else:
        values, at = encoded.dictionary, encoded.indices
    cells = [as_cell(value) for value in _values(values)]
    if not all(isinstance(cell, str) for cell in cells):
        return None
    texts = pa.array([cell or None for cell in cells], pa.string())
    return texts if at is None else texts.take(at)


def _values(column: "pa.Array[Any]") -> list[object]:
    try:
        return column.to_pylist()
    except UNFIT:
        return [_value(scalar) for scalar in column]


def _value(scalar: "pa.Scalar[Any]") -> object:
    # A day after 9999, bytes that are no text: this cell is unfit, its row is told so.
    try:
        return scalar.as_py()
    except UNFIT:
        if isinstance(scalar, pa.StringScalar | pa.LargeStringScalar):
            return scalar.as_buffer().to_pybytes()
        return NoValue(f"a {scalar.type} beyond what can be read")


def _unreadable(path: Path) -> FileError:
    return FileError(
        f"{path} is not a Parquet file that can be read.",
        hint="Export it again as Parquet, CSV or XLSX.",
    )
