"""CSV: separated by comma, semicolon or tab, in the encodings that workshops meet.

A file is UTF-8 (with or without BOM), UTF-16, or else Windows-1252. One that is UTF-8
in most rows stays UTF-8: the rows that are not are set aside, instead of turning every
other accent of the file into two wrong letters.
"""

import codecs
import csv
import itertools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple, TextIO

from ingest.errors import FileError
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
SAMPLE = 64
HEAD = 4096  # enough to see whether a file is text
# How a byte that does not decode comes out: U+DC80 to U+DCFF in UTF-8 and
# Windows-1252, the replacement character in UTF-16.
ESCAPED = range(0xDC80, 0xDD00)
REPLACED = "\ufffd"


@dataclass(frozen=True, slots=True)
class Encoding:
    """How the bytes of a file become text."""

    name: str
    errors: str = "strict"


class _RawRow(NamedTuple):
    """One row as it stands; one broken by its quotes is a single cell."""

    row_no: int
    cells: list[str]
    is_broken: bool = False


@dataclass(slots=True)
class _Lines:
    """Lines of a file, with those since the last row kept for a row that is broken."""

    file: TextIO
    taken: list[str] = field(default_factory=list)

    def __iter__(self) -> Iterator[str]:
        for line in self.file:
            self.taken.append(line)
            yield line


def read_csv(path: Path) -> Source:
    """Open a CSV file as far as its header.

    Raises
    ------
    FileError
        Empty, not text, or two columns of one name.
    """
    encoding = encoding_of(path)
    with _opened(path, encoding) as file:
        head = next((line for line in file if line.strip()), "")
    if not head:
        raise FileError(
            f"{path} is empty.", hint="Write the file again, with a header at least."
        )
    delimiter = delimiter_of(head)
    raw_rows = _raw_rows(path, encoding, delimiter)
    header = next(raw for raw in raw_rows if raw.is_broken or any(raw.cells))
    if header.is_broken:
        raise FileError(
            f"{path} has a header whose quotes do not match: {header.cells[0][:60]!r}.",
            hint="Write the file again with its column names in the first row.",
        )
    names = column_names(path, header.cells)

    def rows() -> Iterator[SourceRow]:
        for raw in _raw_rows(path, encoding, delimiter):
            if raw.row_no > header.row_no and any(raw.cells):
                yield _row(names, raw, check_bytes=encoding.errors != "strict")

    return Source(names, rows)


def delimiter_of(line: str) -> str:
    """Return the delimiter that stands most often outside quotes; a comma if none."""
    outside = "".join(line.split('"')[::2])
    return max(DELIMITERS, key=outside.count)


def encoding_of(path: Path) -> Encoding:
    """Return how to decode a file, after reading all of it once.

    Raises
    ------
    FileError
        Its bytes are no text.
    """
    with path.open("rb") as file:
        head = file.read(HEAD)
    name = _announced(head)
    if name is None and b"\0" in head:
        name = _utf_16_without_bom(head)
        if name is None:
            raise FileError(
                f"{path} is not a text file.",
                hint="Export it as CSV, XLSX or Parquet, then ingest that file.",
            )
    name = name or "utf-8"
    if _decodes(path, name):
        return Encoding(name)
    if name.startswith("utf-16"):
        return Encoding(name, "replace")
    if _has_other_letters(path, name):
        return Encoding(name, "surrogateescape")
    if _decodes(path, "cp1252"):
        return Encoding("cp1252")
    return Encoding("cp1252", "surrogateescape")


def _announced(head: bytes) -> str | None:
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return None


def _utf_16_without_bom(head: bytes) -> str | None:
    # Column names are mostly ASCII: in UTF-16 nearly every other byte is zero.
    zeros = [head[:SAMPLE][start::2].count(0) for start in (0, 1)]
    enough = len(head[:SAMPLE]) * 3 // 8
    if zeros[0] == 0 and zeros[1] >= enough:
        return "utf-16-le"
    if zeros[1] == 0 and zeros[0] >= enough:
        return "utf-16-be"
    return None


def _decodes(path: Path, name: str) -> bool:
    try:
        for _ in _texts(path, Encoding(name)):
            pass
    except UnicodeError:
        return False
    return True


def _has_other_letters(path: Path, name: str) -> bool:
    for text in _texts(path, Encoding(name, "surrogateescape")):
        if not text.isascii() and any(
            not letter.isascii() and ord(letter) not in ESCAPED for letter in text
        ):
            return True
    return False


def _texts(path: Path, encoding: Encoding) -> Iterator[str]:
    with _opened(path, encoding) as file:
        while text := file.read(BLOCK):
            yield text


@contextmanager
def _opened(path: Path, encoding: Encoding) -> Iterator[TextIO]:
    with path.open(encoding=encoding.name, errors=encoding.errors, newline="") as file:
        yield file


def _raw_rows(path: Path, encoding: Encoding, delimiter: str) -> Iterator[_RawRow]:
    with _opened(path, encoding) as file:
        lines = _Lines(file)
        reader = csv.reader(lines, delimiter=delimiter, strict=True)
        for row_no in itertools.count(1):
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
    if len(cells) > len(names):
        full = overfull(names, row, cells[len(names) :], raw.row_no)
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
