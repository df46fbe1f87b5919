"""CSV: separated by comma, semicolon or tab, in the encodings that workshops meet."""

import codecs
import csv
import io
import itertools
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import NamedTuple, TextIO

from ingest.errors import FileError
from ingest.readers.csv_blocks import Layout, blocks
from ingest.readers.encodings import (
    ESCAPED,
    REPLACED,
    Encoding,
    encoding_of,
    opened,
)
from ingest.readers.source import (
    Cell,
    Problem,
    Source,
    SourceRow,
    column_names,
    overfull,
)

DELIMITERS = ",;\t"
BLOCK = 1 << 20


class _RawRow(NamedTuple):
    """One row as it stands; one broken by its quotes is a single cell."""

    row_no: int
    cells: list[str]
    is_broken: bool = False


@dataclass(slots=True)
class _Lines:
    """Lines of a file, with those since the last row kept for a row that is broken."""

    file: TextIO
    encoding: Encoding
    taken: list[str] = field(default_factory=list)
    n_bytes: int = 0

    def __iter__(self) -> Iterator[str]:
        name = self.encoding.bare
        for line in self.file:
            self.taken.append(line)
            self.n_bytes += len(line.encode(name, self.encoding.errors))
            yield line


def read_csv(path: Path) -> Source:
    """Open a CSV file as far as its header.

    Raises
    ------
    FileError
        Empty, not text, or two columns of one name.
    """
    encoding = encoding_of(path)
    with opened(path, encoding) as file:
        head = next((line for line in file if line.strip()), "")
    delimiter = delimiter_of(head)
    with opened(path, encoding) as file:
        lines = _Lines(file, encoding)
        filled = (raw for raw in _raw_rows(lines, delimiter) if _is_filled(raw))
        header = next(filled, None)
    if header is None:
        raise FileError(
            f"{path} is empty.", hint="Write the file again, with a header at least."
        )
    if header.is_broken:
        raise FileError(
            f"{path} has a header whose quotes do not match: {header.cells[0][:60]!r}.",
            hint="Write the file again with its column names in the first row.",
        )
    names = column_names(path, header.cells)
    cut = _Cut(path, encoding, delimiter, names)
    bom = codecs.BOM_UTF8 if encoding.name == "utf-8-sig" else b""
    start = len(bom) + lines.n_bytes
    layout = Layout(
        encoding.bare,
        delimiter,
        names,
        n_unnamed=len(header.cells) - len(names),
    )
    return Source(
        names,
        lambda: cut.rows(header.row_no),
        total=max(_n_line_breaks(path) - header.row_no, 0)
        if not encoding.is_wide
        else None,
        decimal_comma=delimiter == ";",
        blocks=partial(
            blocks,
            path,
            layout,
            start=start,
            row_no=header.row_no + 1,
            row_by_row=cut.rows_from,
        )
        if not encoding.is_wide
        else None,
    )


@dataclass(frozen=True, slots=True)
class _Cut:
    """How the rows of a file are cut out of it, one by one."""

    path: Path
    encoding: Encoding
    delimiter: str
    names: tuple[str, ...]

    def rows(self, header_no: int) -> Iterator[SourceRow]:
        with opened(self.path, self.encoding) as file:
            for raw in _raw_rows(_Lines(file, self.encoding), self.delimiter):
                if raw.row_no > header_no and _is_filled(raw):
                    yield self._row(raw)

    def rows_from(
        self, file: io.BufferedReader, n_bytes: int, row_no: int
    ) -> Generator[SourceRow, None, tuple[int, int]]:
        # Rows from where the file stands until so many bytes are used up.
        text = io.TextIOWrapper(
            file,
            encoding=self.encoding.bare,
            errors=self.encoding.errors,
            newline="",
        )
        lines = _Lines(text, self.encoding)
        try:
            for raw in _raw_rows(lines, self.delimiter, first_row_no=row_no):
                if _is_filled(raw):
                    yield self._row(raw)
                row_no = raw.row_no + 1
                if lines.n_bytes >= n_bytes:
                    break
            return lines.n_bytes, row_no
        finally:
            text.detach()

    def _row(self, raw: _RawRow) -> SourceRow:
        check_bytes = self.encoding.errors != "strict"
        return _row(self.names, raw, check_bytes=check_bytes)


def _n_line_breaks(path: Path) -> int:
    with path.open("rb") as file:
        return sum(block.count(b"\n") for block in iter(partial(file.read, BLOCK), b""))


def delimiter_of(line: str) -> str:
    """Return the delimiter that stands most often outside quotes; a comma if none."""
    outside = "".join(line.split('"')[::2])
    return max(DELIMITERS, key=outside.count)


def _raw_rows(
    lines: _Lines, delimiter: str, *, first_row_no: int = 1
) -> Iterator[_RawRow]:
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    for row_no in itertools.count(first_row_no):
        lines.taken.clear()
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            # Kept whole as one cell; reading goes on with the next line.
            yield _RawRow(row_no, ["".join(lines.taken)], is_broken=True)
        else:
            yield _RawRow(row_no, cells)


def _is_filled(raw: _RawRow) -> bool:
    return raw.is_broken or any(cell and not cell.isspace() for cell in raw.cells)


def _row(names: Sequence[str], raw: _RawRow, *, check_bytes: bool) -> SourceRow:
    cells = raw.cells
    damage = None
    if check_bytes and (damaged := [n for n, c in enumerate(cells) if _is_damaged(c)]):
        field = names[min(damaged[0], len(names) - 1)]
        damage = Problem(field, "bad_encoding", "bytes that are no letters of the file")
        # Shown as \xNN, so that a person sees which bytes stood there.
        cells = [_legible(cell) for cell in cells]
    elif raw.is_broken:
        damage = Problem(names[0], "malformed_row", "quotes that do not match")
    row = _named(names, cells)
    beyond = cells[len(names) :]
    if any(cell and not cell.isspace() for cell in beyond):
        full = overfull(names, row, beyond, raw.row_no)
        row, damage = full.cells, damage or full.problem
    return SourceRow(raw.row_no, row, damage)


def _named(names: Sequence[str], cells: Sequence[str]) -> dict[str, Cell]:
    return {
        name: cell
        for name, cell in zip(names, cells, strict=False)
        if cell and not cell.isspace()
    }


def _is_damaged(cell: str) -> bool:
    return not cell.isascii() and any(
        letter == REPLACED or ord(letter) in ESCAPED for letter in cell
    )


def _legible(cell: str) -> str:
    return cell.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
