"""Parquet: batch by batch, each value as the text it stands for."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from ingest.errors import FileError
from ingest.readers.source import NoValue, Source, SourceRow, column_names, row_of

ROWS_AT_ONCE = 4096
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
    return Source(names, lambda: _rows(path, names), total=total)


def _rows(path: Path, names: tuple[str, ...]) -> Iterator[SourceRow]:
    row_no = 1
    try:
        with pq.ParquetFile(path) as file:
            for batch in file.iter_batches(ROWS_AT_ONCE):
                columns = [_values(column) for column in batch.columns]
                for cells in zip(*columns, strict=True):
                    row_no += 1
                    yield row_of(names, cells, row_no)
    except PermissionError:
        raise
    except BROKEN as error:
        raise _unreadable(path) from error


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
