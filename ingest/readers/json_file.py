"""JSON: an array of objects, or one object a line (JSON Lines).

Neither is ever held whole. One pass at opening finds the names of all members, since
any object may bring a new one; a second one gives the rows.
"""

import codecs
import itertools
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn, TextIO

from ingest.errors import FileError
from ingest.readers.json_row import BLANKS, Decoder, Element
from ingest.readers.source import Problem, Source, SourceRow, legible

BLOCK = 1 << 16
# In characters; a file without line breaks, or a bracket never closed, ends here
# instead of filling the memory.
LONGEST_ELEMENT = 1 << 24
MOST_COLUMNS = 16_384  # as many as a spreadsheet has
BLANK = re.compile(f"[{BLANKS}]*")
SHOWN = 40  # characters of the place where an array breaks
BY_LINE = (
    "Export it again, or write one object a line into a `.jsonl` file: there a bad "
    "line is set aside and the others are read."
)


def read_json(path: Path) -> Source:
    """Open a JSON file and find the names of its members.

    A file `.json` that starts with a bracket is an array; every other is read line by
    line.

    Raises
    ------
    FileError
        No object in it, an array that is broken, or something else than JSON.
    """
    encoding, first = _start(path)
    is_array = path.suffix.lower() == ".json" and first == "["
    read = _array if is_array else _lines

    def elements() -> Iterator[Element]:
        with _opened(path, encoding) as file:
            yield from read(path, file)

    names, n_rows = _columns(path, elements)

    def rows() -> Iterator[SourceRow]:
        for element in elements():
            yield _row(names[0], element)

    return Source(names, rows, total=n_rows)


def _start(path: Path) -> tuple[str, str]:
    with path.open("rb") as file:
        head = file.read(2)
    marks = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
    encoding = "utf-16" if head in marks else "utf-8-sig"
    with _opened(path, encoding) as file:
        while block := file.read(BLOCK):
            if text := block.lstrip(BLANKS):
                return encoding, text[0]
    raise FileError(f"{path} is empty.", hint="Write the file again, with its rows.")


@contextmanager
def _opened(path: Path, encoding: str) -> Iterator[TextIO]:
    # Bytes that do not decode come out as halves of letters, and are found later.
    errors = "surrogatepass" if encoding == "utf-16" else "surrogateescape"
    try:
        with path.open(encoding=encoding, errors=errors) as file:
            yield file
    except UnicodeDecodeError:
        raise FileError(
            f"{path} breaks off in the middle of a letter.", hint="Export it again."
        ) from None


def _columns(
    path: Path, elements: Callable[[], Iterator[Element]]
) -> tuple[tuple[str, ...], int]:
    names: dict[str, None] = {}
    n_rows = 0
    for element in elements():
        n_rows += 1
        names.update(dict.fromkeys(element.cells))
        if len(names) > MOST_COLUMNS:
            raise FileError(
                f"{path} has more than {MOST_COLUMNS} different names by its row "
                f"{element.row_no}.",
                hint="Give every object the same names: one a field, not one a unit.",
            )
    if not names:
        raise FileError(
            f"{path} holds no JSON object with members.",
            hint="Write one object a line, or an array of objects in a `.json` file.",
        )
    return tuple(names), n_rows


def _row(first_name: str, element: Element) -> SourceRow:
    if not element.code:
        cells = {name: cell for name, cell in element.cells.items() if cell != ""}
        return SourceRow(element.row_no, cells)
    problem = Problem(first_name, element.code, element.message)
    return SourceRow(element.row_no, {first_name: legible(element.text)}, problem)


def _lines(path: Path, file: TextIO) -> Iterator[Element]:
    decoder = Decoder()
    for row_no in itertools.count(1):
        line = file.readline(LONGEST_ELEMENT)
        if not line:
            return
        if len(line) == LONGEST_ELEMENT:
            raise FileError(
                f"{path} has more than {LONGEST_ELEMENT} characters in line {row_no}.",
                hint="Write one object a line, or an array into a `.json` file.",
            )
        if line.strip():
            yield decoder.element_of_line(row_no, line)


def _array(path: Path, file: TextIO) -> Iterator[Element]:
    rest = _Rest(path, file)
    rest.take_letter()  # the bracket it starts with
    closed = rest.letter() == "]"
    if closed:
        rest.take_letter()
    for row_no in itertools.count(1):
        if closed:
            break
        yield rest.take_element(row_no)
        closed = rest.take_letter() == "]"
    if rest.letter():
        raise FileError(
            f"{path} goes on after the end of its array: {rest.shown(rest.place)}.",
            hint=BY_LINE,
        )


@dataclass(slots=True)
class _Rest:
    """What is not decoded yet, a block at a time."""

    path: Path
    file: TextIO
    text: str = ""
    place: int = 0  # in text
    n_passed: int = 0  # characters of the file before text
    decoder: Decoder = field(default_factory=Decoder)

    def read_on(self) -> bool:
        """Drop what was taken, add a block; False at the end of the file."""
        kept = self.text[self.place :]
        # Twice as much each time: a long element is then not decoded over and over.
        block = self.file.read(max(BLOCK, len(kept)))
        self.n_passed += self.place
        self.text, self.place = kept + block, 0
        return bool(block)

    def letter(self) -> str:
        """Return the next one that is no blank, without taking it; "" at the end."""
        while True:
            self.place = _after_blanks(self.text, self.place)
            if self.place < len(self.text):
                return self.text[self.place]
            if not self.read_on():
                return ""

    def take_letter(self) -> str:
        letter = self.letter()
        self.place += 1
        return letter

    def take_element(self, row_no: int) -> Element:
        """Take an element, as far as the comma or bracket behind it."""
        self.letter()
        while True:
            try:
                value, end = self.decoder.value(self.text, self.place)
            except json.JSONDecodeError as error:
                broken_at = error.pos
            except RecursionError:
                raise FileError(
                    f"{self.path} is nested too deeply in its element {row_no}.",
                    hint=BY_LINE,
                ) from None
            else:
                broken_at = _after_blanks(self.text, end)
                # Without either the value may go on in the next block: 1 and 12.
                if self.text[broken_at : broken_at + 1] in {",", "]"}:
                    text = self.text[self.place : end]
                    self.place = broken_at
                    return self.decoder.element(row_no, value, text)
            if len(self.text) - self.place > LONGEST_ELEMENT:
                self.break_off(row_no, broken_at)
            shift = self.place
            if not self.read_on():
                self.break_off(row_no, broken_at - shift)

    def break_off(self, row_no: int, place: int) -> NoReturn:
        raise FileError(
            f"{self.path} is broken in its element {row_no}: {self.shown(place)}.",
            hint=BY_LINE,
        )

    def shown(self, place: int) -> str:
        part = legible(self.text[place : place + SHOWN])
        where = f"character {self.n_passed + place + 1} of the file"
        return f"{part!r} at {where}" if part else f"it breaks off at {where}"


def _after_blanks(text: str, place: int) -> int:
    found = BLANK.match(text, place)
    return found.end() if found else place
