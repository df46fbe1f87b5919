"""What every reader hands on: the columns of a file, and its rows as cells of text."""

import datetime as dt
import itertools
import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.errors import FileError

# A spreadsheet keeps 15 significant digits; the rest is how a computer stores them.
DIGITS = ".15g"
# Past both, packed content is no records: those pack some 5 to 50 to 1.
ABSURD_SIZE = 1_000_000_000
ABSURD_RATIO = 1000
# How bytes that do not decode come out (surrogateescape, surrogatepass).
HALF_LETTERS = re.compile("[\ud800-\udfff]")
# What a workbook writes into a cell whose formula failed.
WORKBOOK_ERRORS = frozenset(
    {
        "#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!",
        "#BLOCKED!", "#CALC!", "#FIELD!", "#GETTING_DATA", "#SPILL!",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class NoValue:
    """A cell that holds an error or bytes instead of a value; no field takes it."""

    text: str

    def __str__(self) -> str:
        return self.text


Cell = str | bool | NoValue


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a row was set aside: the field, a stable code, and a sentence."""

    field: str
    code: str
    message: str


@dataclass(frozen=True, slots=True)
class SourceRow:
    """One row of a file.

    Attributes
    ----------
    row_no : int
        As a spreadsheet counts: the header is row 1.
    cells : dict of str to Cell
        By the file's own column names; an empty cell is left out.
    problem : Problem, optional
        Set when the row could not be read as cells; `cells` then holds all of it.
    """

    row_no: int
    cells: dict[str, Cell]
    problem: Problem | None = None


@dataclass(frozen=True, slots=True)
class PlainBlock:
    """Rows of text that could all be read as cells, as columns.

    Attributes
    ----------
    row_nos : numpy.ndarray of int
        The number of each row, increasing, as a spreadsheet counts.
    table : pyarrow.Table
        By the file's own column names; null where a cell is empty.
    """

    row_nos: NDArray[np.int64]
    table: pa.Table

    @classmethod
    def of(cls, rows: Sequence[SourceRow], columns: Sequence[str]) -> "PlainBlock":
        """Return the block of rows that hold text and no problem."""
        cells = {name: [row.cells.get(name) for row in rows] for name in columns}
        table = pa.table({n: pa.array(c, pa.string()) for n, c in cells.items()})
        return cls(np.array([row.row_no for row in rows], np.int64), table)

    def rows(self, row_nos: NDArray[np.int64]) -> list[SourceRow]:
        """Return some rows of the block, by their numbers."""
        places = np.searchsorted(self.row_nos, row_nos)
        found = self.table.take(pa.array(places, pa.int64())).to_pylist()
        return [
            SourceRow(row_no, {n: c for n, c in cells.items() if c and not c.isspace()})
            for row_no, cells in zip(row_nos.tolist(), found, strict=True)
        ]


@dataclass(frozen=True, slots=True)
class Source:
    """A file that was opened far enough to know its columns.

    Attributes
    ----------
    columns : tuple of str
    rows : callable
        Starts reading the rows; may raise FileError on the way.
    total : int or None
        How many rows there are, where the format says so.
    notices : tuple of str
    decimal_comma : bool
        Numbers of this file may be written with a decimal comma.
    sheet : str or None
        The sheet of a workbook; None for a format without sheets.
    blocks : callable or None
        The same rows as `rows`, most of them in blocks, where the format allows.
    """

    columns: tuple[str, ...]
    rows: Callable[[], Iterator[SourceRow]]
    total: int | None = None
    notices: tuple[str, ...] = ()
    decimal_comma: bool = False
    sheet: str | None = None
    blocks: Callable[[], Iterator[PlainBlock | SourceRow]] | None = None


def is_absurd(n_packed: int, n_unpacked: int) -> bool:
    """Return whether content is made to fill disk or memory; both sizes in bytes."""
    return n_unpacked > ABSURD_SIZE and n_unpacked > ABSURD_RATIO * n_packed


def column_names(place: Path | str, header: Sequence[object]) -> tuple[str, ...]:
    """Return the names of the columns, trimmed.

    Parameters
    ----------
    place : pathlib.Path or str
        What messages call the file, or the sheet of it.
    header : sequence of object

    Raises
    ------
    FileError
        No column has a name, or two have one: which of them counts is not for us to
        say.
    """
    names = [legible(str(n)).strip() if n is not None else "" for n in header]
    while names and not names[-1]:
        names.pop()
    if not names:
        raise FileError(
            f"{place} has no column with a name.",
            hint="Write the file again with its column names in the first row.",
        )
    named = [name or f"column {n}" for n, name in enumerate(names, start=1)]
    for name in named:
        if named.count(name) > 1:
            raise FileError(
                f"{place} has the column `{name}` more than once.",
                hint="Keep one of them, then ingest the file again.",
            )
    return tuple(named)


def legible(text: str) -> str:
    r"""Return text in which bytes that are no letters are shown as \xNN."""
    return HALF_LETTERS.sub(_shown, text)


def _shown(half: re.Match[str]) -> str:
    code = f"{ord(half[0]):x}"
    return f"\\x{code[-2:]}" if "\udc80" <= half[0] <= "\udcff" else f"\\u{code}"


def row_of(names: Sequence[str], cells: Sequence[object], row_no: int) -> SourceRow:
    """Return a row of typed cells as text; one with cells too many is malformed."""
    texts = [as_cell(cell) for cell in cells]
    row = {name: text for name, text in zip(names, texts, strict=False) if text != ""}
    beyond = [text for text in texts[len(names) :] if text != ""]
    if not beyond:
        return SourceRow(row_no, row)
    return overfull(names, row, beyond, row_no)


def overfull(
    names: Sequence[str],
    cells: dict[str, Cell],
    beyond: Iterable[Cell],
    row_no: int,
) -> SourceRow:
    """Return a row that has more cells than the header, with all of them."""
    # A correction file may have columns of these names already.
    own = (f"extra_cell_{n}" for n in itertools.count(1))
    extra = dict(zip((name for name in own if name not in names), beyond, strict=False))
    message = f"the header has {len(names)} columns, this row {len(names) + len(extra)}"
    return SourceRow(
        row_no, cells | extra, Problem(next(iter(extra)), "malformed_row", message)
    )


def as_cell(value: object) -> Cell:
    """Return a typed value of a workbook or Parquet file as the text it stands for.

    Empty text means not recorded. A day at midnight is a day; a list is its parts with
    `;` between, one of lists or structures JSON; a truth value stays one, since no
    field takes it.
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return NoValue(value) if value in WORKBOOK_ERRORS else _unless_blank(value)
    if isinstance(value, bool | NoValue):
        return value
    return _plain_text(value)


def _unless_blank(text: str) -> str:
    return "" if text.isspace() else text


def _plain_text(value: object) -> Cell:
    if isinstance(value, float):
        return "" if value != value else _number_text(value)  # noqa: PLR0124 - NaN: not recorded
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, dt.datetime):
        at_midnight = value.tzinfo is None and value.time() == dt.time()
        return value.date().isoformat() if at_midnight else value.isoformat()
    if isinstance(value, dict | list):
        return _parts_text(value)
    if isinstance(value, bytes):
        return NoValue(value.decode("utf-8", "backslashreplace"))
    return str(value)


def _parts_text(value: dict[str, object] | list[object]) -> str:
    if isinstance(value, dict) or any(isinstance(part, dict | list) for part in value):
        return json.dumps(value, ensure_ascii=False, default=str)
    return ";".join(str(as_cell(part)) for part in value)


def _number_text(value: float) -> str:
    return format(value, DIGITS)
