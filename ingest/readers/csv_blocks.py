"""A CSV file in blocks: plain ones as columns, all else row by row.

Most of a file is plain: every row has as many cells as the header, and quotes stand
only where the common CSV rules (RFC 4180) put them. Such a stretch is cut into columns
at once. Where one is not plain it is tried again in smaller pieces, and the piece that
still is not is read row by row, so that one bad row costs little. Both ways give the
same cells.
"""

import io
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pa_csv
from numpy.typing import NDArray

from ingest.readers.source import PlainBlock, SourceRow

BIG = 1 << 22
# Tried one after the other; what is not plain at the last is read row by row.
SIZES = (BIG, 1 << 18, 1 << 14)
# The longest cell that is read row by row (csv.field_size_limit).
LONGEST_CELL = 131_072
LINE_FEED, CARRIAGE_RETURN, QUOTE = b'\n\r"'
# How many line breaks inside quotes are tried before a piece counts as not plain.
CUTS_BACK = 50


RowByRow = Callable[
    [io.BufferedReader, int, int], Generator[SourceRow, None, tuple[int, int]]
]


@dataclass(frozen=True, slots=True)
class Layout:
    """How the bytes of a file are cut into cells.

    Attributes
    ----------
    encoding : str
        An encoding in which a line break is one byte.
    delimiter : str
    names : tuple of str
        Of the columns.
    n_unnamed : int
        Columns after them that have no name, and should have no cells.
    """

    encoding: str
    delimiter: str
    names: tuple[str, ...]
    n_unnamed: int = 0


def blocks(
    path: Path,
    layout: Layout,
    *,
    start: int,
    row_no: int,
    row_by_row: RowByRow,
) -> Iterator[PlainBlock | SourceRow]:
    """Yield the file from a row's first byte on as plain blocks and single rows.

    Parameters
    ----------
    path : pathlib.Path
    layout : Layout
    start : int
        The byte at which a row begins.
    row_no : int
        The number of that row.
    row_by_row : callable
        `row_by_row(file, n_bytes, row_no)` reads rows from where the file stands until
        at least so many bytes are used up; yields them and returns the number of
        bytes used and the number of the next row.

    Yields
    ------
    PlainBlock or SourceRow
    """
    with path.open("rb") as file:
        while True:
            file.seek(start)
            content = file.read(BIG)
            if not content:
                return
            for size in SIZES:
                to_the_end = len(content) < BIG and len(content) <= size
                whole = _whole_rows(content[:size], to_the_end=to_the_end)
                table = _columns(whole, layout) if whole else None
                if table is not None:
                    numbers = np.arange(row_no, row_no + table.num_rows)
                    yield PlainBlock(numbers, table)
                    start += len(whole)
                    row_no += table.num_rows
                    break
            else:
                file.seek(start)
                used, row_no = yield from row_by_row(file, SIZES[-1], row_no)
                start += used


def _whole_rows(content: bytes, *, to_the_end: bool) -> bytes:
    # Up to a line break before which all quotes are closed.
    if to_the_end and content.count(b'"') % 2 == 0:
        return content
    end = content.rfind(b"\n") + 1
    for _ in range(CUTS_BACK):
        if not end:
            break
        if content.count(b'"', 0, end) % 2 == 0:
            return content[:end]
        end = content.rfind(b"\n", 0, end - 1) + 1
    return b""


def _columns(content: bytes, layout: Layout) -> pa.Table | None:
    # None: not plain.
    if not _is_plain(content, layout.delimiter.encode()):
        return None
    unnamed = [f"unnamed {n}" for n in range(layout.n_unnamed)]
    names = [*layout.names, *unnamed]
    try:
        if layout.encoding != "utf-8":
            content = content.decode(layout.encoding).encode()
        table = pa_csv.read_csv(
            io.BytesIO(content),
            read_options=pa_csv.ReadOptions(column_names=names, block_size=BIG // 4),
            parse_options=pa_csv.ParseOptions(
                delimiter=layout.delimiter,
                newlines_in_values=True,
                ignore_empty_lines=False,
            ),
            convert_options=pa_csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()),
                strings_can_be_null=True,
                null_values=[""],
            ),
        )
    except (pa.ArrowInvalid, UnicodeError):  # more or fewer cells; bytes of no letter
        return None
    if any(table.column(name).null_count < table.num_rows for name in unnamed):
        return None
    table = table.select(list(layout.names)).combine_chunks()
    lengths = [pc.max(pc.binary_length(column)).as_py() for column in table.columns]
    return table if max((n or 0) for n in lengths) < LONGEST_CELL else None


def _is_plain(content: bytes, delimiter: bytes) -> bool:
    if b"\0" in content:
        return False
    letters = np.frombuffer(b"\n" + content + b"\n", dtype=np.uint8)
    if b"\r" in content:
        returns = np.flatnonzero(letters == CARRIAGE_RETURN)
        if (letters[returns + 1] != LINE_FEED).any():
            return False
    return b'"' not in content or _has_plain_quotes(letters, ord(delimiter))


def _has_plain_quotes(letters: NDArray[np.uint8], delimiter: int) -> bool:
    # Every cell in quotes begins and ends at the edge of the cell; two quotes in a row
    # inside it are one of its text.
    quotes = np.flatnonzero(letters == QUOTE)
    if len(quotes) % 2:
        return False
    opened, closed = quotes[::2], quotes[1::2]
    doubled = opened[1:] == closed[:-1] + 1
    before, after = letters[opened - 1], letters[closed + 1]
    begins = (before == delimiter) | (before == LINE_FEED)
    begins[1:] |= doubled
    # A carriage return is known to stand before a line feed.
    ends = (after == delimiter) | (after == LINE_FEED) | (after == CARRIAGE_RETURN)
    ends[:-1] |= doubled
    return bool(begins.all() and ends.all())
