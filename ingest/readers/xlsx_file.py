"""XLSX: each visible sheet that holds rows, each cell as the text it stands for.

Real date cells become ISO dates, numbers their digits, formulas the result that the
spreadsheet saved.
"""

import itertools
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.workbook.workbook import Workbook

from ingest.errors import FileError, UserError
from ingest.readers.source import Source, SourceRow, column_names, is_absurd, row_of

# A cell with a formula and no value; one whose result is the empty text has t="str".
NO_RESULT = re.compile(
    rb"<c\b(?![^>]*t=\"str\")[^>]*><f\b[^>]*(?:/>|>[^<]*</f>)(?:<v ?/>|<v></v>)?</c>"
)
# How a workbook writes letters that XML does not have, and an underscore before what
# only looks like one. Others are left: not every program marks its underscores.
ESCAPED = re.compile(r"_x(00[01][0-9A-Fa-f]|005[Ff](?=_x[0-9A-Fa-f]{4}_))_")
BLOCK = 1 << 20
OVERLAP = 1 << 14  # the longest formula a workbook holds, 8192 characters, and room
ROWS_AT_ONCE = 1000
MOST_ROWS = 1_048_576  # of a sheet; one that claims more would never end


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A sheet that holds rows, as far as its header."""

    title: str
    header_no: int
    header: tuple[object, ...]
    last_row: int | None
    has_formula_without_result: bool


def read_xlsx(path: Path, sheet: str | None = None) -> tuple[Source, ...]:
    """Open a workbook as far as the header of each visible sheet with rows.

    Parameters
    ----------
    path : pathlib.Path
    sheet : str, optional
        Only this one, hidden or not.

    Raises
    ------
    FileError
        Not a workbook, no such sheet, no cell filled, or two columns of one name in
        every sheet.
    """
    with _workbook(path) as workbook:
        found = [_looked_at(one) for one in _wanted(path, workbook.worksheets, sheet)]
    filled = [one for one in found if one]
    if not filled:
        where = f"The sheet `{sheet}` of {path}" if sheet else str(path)
        raise FileError(
            f"{where} is empty.", hint="Write the file again, with a header at least."
        )
    sources, refused = [], []
    for one in filled:
        try:
            sources.append(_source(path, one))
        except FileError as error:
            refused.append((one.title, error))
    if not sources:
        raise refused[0][1]
    # The sheet meant may be the one refused: whichever is taken, that is told.
    told = tuple(
        f"sheet `{title}` was not read: {error.message}" for title, error in refused
    )
    return tuple(replace(one, notices=(*told, *one.notices)) for one in sources)


def _wanted(path: Path, sheets: Sequence[Any], sheet: str | None) -> list[Any]:
    # Any: the published types call a read-only sheet by another class.
    if sheet is None:
        return [one for one in sheets if one.sheet_state == "visible"]
    wanted = [one for one in sheets if one.title == sheet]
    if not wanted:
        titles = ", ".join(f"`{one.title}`" for one in sheets)
        raise FileError(
            f"{path} has no sheet `{sheet}`.", hint=f"Its sheets are {titles}."
        )
    return wanted


def _looked_at(sheet: Any) -> _Sheet | None:
    last_row = sheet.max_row
    header = next(_filled(sheet), None)
    if header is None:
        return None
    return _Sheet(sheet.title, *header, last_row, _has_formula_without_result(sheet))


def _source(path: Path, sheet: _Sheet) -> Source:
    names = column_names(f"{path}, sheet `{sheet.title}`,", sheet.header)

    def rows() -> Iterator[SourceRow]:
        for row_no, cells in _rows_of(path, sheet.title):
            if row_no > sheet.header_no:
                yield row_of(names, cells, row_no)

    notice = (
        "a formula has no saved result and counts as an empty cell; open the file "
        "in a spreadsheet, save it, and ingest it again"
    )
    last_row = sheet.last_row
    return Source(
        names,
        rows,
        total=max(last_row - sheet.header_no, 0) if last_row else None,
        notices=(notice,) if sheet.has_formula_without_result else (),
        sheet=sheet.title,
    )


@contextmanager
def _workbook(path: Path) -> Iterator[Workbook]:
    try:
        _check_size(path)
        # Opened here: openpyxl leaves a file that it does not understand open.
        with path.open("rb") as file:
            with _quiet():
                workbook = openpyxl.load_workbook(file, read_only=True, data_only=True)
            yield workbook
    except (UserError, PermissionError):
        raise
    except Exception as error:
        # A file cut short or made by hand comes out as whatever its parser trips over.
        raise _unreadable(path) from error


def _check_size(path: Path) -> None:
    with zipfile.ZipFile(path) as parts:
        size = sum(part.file_size for part in parts.infolist())
    if is_absurd(path.stat().st_size, size):
        raise FileError(
            f"{path} has {path.stat().st_size} bytes and unpacks to {size}.",
            hint="That is no workbook of records; look at where it came from.",
        )


@contextmanager
def _quiet() -> Iterator[None]:
    with warnings.catch_warnings():
        # A workbook without styles, with drop-downs or with a date that is none (which
        # then comes as an error value) is none the worse here.
        warnings.simplefilter("ignore", UserWarning)
        yield


def _unreadable(path: Path) -> FileError:
    return FileError(
        f"{path} is not a workbook that can be read.",
        hint="Open it in a spreadsheet and save it as XLSX, then ingest it again.",
    )


def _rows_of(path: Path, title: str) -> Iterator[tuple[int, tuple[object, ...]]]:
    with _workbook(path) as workbook:
        yield from _filled(workbook[title])


def _has_formula_without_result(sheet: Any) -> bool:
    # A program that writes formulas without working them out leaves no result; the
    # reader cannot tell that from an empty cell.
    with sheet._get_source() as part:  # noqa: SLF001 - no public name for it
        before = b""
        while block := part.read(BLOCK):
            if NO_RESULT.search(before + block):
                return True
            before = block[-OVERLAP:]
    return False


def _filled(sheet: Any) -> Iterator[tuple[int, tuple[object, ...]]]:
    # The size that the file states is often wrong; without it all rows are read.
    sheet.reset_dimensions()
    rows = enumerate(sheet.iter_rows(values_only=True), start=1)
    while True:
        with _quiet():
            block = list(itertools.islice(rows, ROWS_AT_ONCE))
        if not block:
            return
        if block[0][0] > MOST_ROWS:
            raise ValueError(f"row {block[0][0]}")
        for row_no, cells in block:
            if any(cell is not None and str(cell).strip() for cell in cells):
                yield row_no, tuple(map(_unescaped, cells))


def _unescaped(cell: object) -> object:
    if isinstance(cell, str) and "_x" in cell:
        return ESCAPED.sub(lambda code: chr(int(code[1], 16)), cell)
    return cell
