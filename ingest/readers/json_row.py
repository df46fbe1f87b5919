"""One JSON value as the cells of a row, or the reason why it is none.

Numbers keep the digits they have in the file: nothing is rounded, and a number of a
thousand digits costs no more than a text of that length.
"""

import json
from dataclasses import dataclass, field

from ingest.readers.source import HALF_LETTERS, Cell

BLANKS = " \t\n\r"  # what JSON lets stand between its parts
NAMELESS = "column without name"
TOO_DEEP = "nested too deeply"


class _NoRowError(Exception):
    """Why a value that is JSON stands for no row."""


class _Number(str):
    """The digits of a number; a type of its own so that JSON text has no quotes."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Element:
    """A JSON value that stands for a row.

    Attributes
    ----------
    row_no : int
    text : str
        The value as it stands in the file.
    cells : dict of str to Cell
        By member name, the empty ones too: their names are columns.
    code, message : str
        Why it is no row; both empty if it is one.
    """

    row_no: int
    text: str
    cells: dict[str, Cell] = field(default_factory=dict)
    code: str = ""
    message: str = ""


class Decoder:
    """Decodes JSON values, and notes what the grammar allows but a row does not."""

    def __init__(self) -> None:
        self._faults: list[str] = []
        self._json = json.JSONDecoder(
            object_pairs_hook=self._object,
            parse_float=_Number,
            parse_int=_Number,
            parse_constant=self._constant,
        )

    def value(self, text: str, start: int = 0) -> tuple[object, int]:
        """Return the value that starts there, and where it ends.

        Raises
        ------
        json.JSONDecodeError
            No JSON, or not all of it.
        RecursionError
            Nested deeper than can be followed.
        """
        self._faults.clear()
        return self._json.raw_decode(text, start)

    def element_of_line(self, row_no: int, line: str) -> Element:
        """Return what a line of JSON Lines holds."""
        text = line.strip(BLANKS)
        try:
            value, end = self.value(text)
        except json.JSONDecodeError as error:
            fault = f"not JSON from character {error.pos + 1} of the line on"
        except RecursionError:
            fault = TOO_DEEP
        else:
            if end == len(text):
                return self.element(row_no, value, text)
            fault = f"goes on after the value that ends at character {end} of the line"
        return _damaged(row_no, text) or _malformed(row_no, text, fault)

    def element(self, row_no: int, value: object, text: str) -> Element:
        """Return the row that the last value stands for, or why it is none."""
        try:
            cells = self._cells(value, text)
        except RecursionError:
            return _malformed(row_no, text, TOO_DEEP)
        except _NoRowError as fault:
            return _damaged(row_no, text) or _malformed(row_no, text, str(fault))
        return _damaged(row_no, text) or Element(row_no, text, cells)

    def _cells(self, value: object, text: str) -> dict[str, Cell]:
        if self._faults:
            raise _NoRowError(self._faults[0])
        if not isinstance(value, dict):
            raise _NoRowError("not a JSON object in braces")
        cells = {name.strip() or NAMELESS: _cell(v) for name, v in value.items()}
        if len(cells) < len(value):
            raise _NoRowError("two of its names differ in blanks only")
        # Only an escape can hide half a letter in text that decoded.
        if "\\u" in text and any(map(_has_half_letter, [*cells, *cells.values()])):
            raise _NoRowError(r"half a letter, \ud800 to \udfff, stands alone")
        return cells

    def _object(self, members: list[tuple[str, object]]) -> dict[str, object]:
        found = dict(members)
        if len(found) < len(members):
            names = [name for name, _ in members]
            twice = next(name for name in names if names.count(name) > 1)
            self._faults.append(f"has the name `{twice}` more than once")
        return found

    def _constant(self, word: str) -> str:
        self._faults.append(f"{word} is no number of JSON")
        return word


def _damaged(row_no: int, text: str) -> Element | None:
    if not _has_half_letter(text):
        return None
    message = "bytes that are no letters of the file"
    return Element(row_no, text, code="bad_encoding", message=message)


def _malformed(row_no: int, text: str, message: str) -> Element:
    return Element(row_no, text, code="malformed_row", message=message)


def _has_half_letter(cell: Cell) -> bool:
    if not isinstance(cell, str) or cell.isascii():
        return False
    return HALF_LETTERS.search(cell) is not None


def _cell(value: object) -> Cell:
    if isinstance(value, bool):
        return value
    if isinstance(value, list) and not any(isinstance(p, dict | list) for p in value):
        return ";".join(_word(part) for part in value)
    if isinstance(value, dict | list):
        return _json_text(value)
    text = _word(value)
    return "" if text.isspace() else text


def _word(scalar: object) -> str:
    if scalar is None:
        return ""
    if isinstance(scalar, bool):
        return "true" if scalar else "false"
    return str(scalar)


def _json_text(value: object) -> str:
    # json.dumps would put the digits of a number in quotes.
    if isinstance(value, dict):
        members = [f"{_quoted(name)}:{_json_text(v)}" for name, v in value.items()]
        return f"{{{','.join(members)}}}"
    if isinstance(value, list):
        return f"[{','.join(map(_json_text, value))}]"
    if isinstance(value, str) and not isinstance(value, _Number):
        return _quoted(value)
    return "null" if value is None else _word(value)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
