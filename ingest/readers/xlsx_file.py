"""XLSX: the first sheet that holds rows, each cell as the text it stands for.

Real date cells become ISO dates, numbers their digits, formulas the result that the
spreadsheet saved.
"""

import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

import openpyxl
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.workbook.workbook import Workbook

from ingest.errors import FileError
from ingest.readers.source import Source, SourceRow, column_names, row_of

# What openpyxl raises on a file that is cut short or is something else.
BROKEN = (
    zipfile.BadZipFile, zlib.error, InvalidFileException, ParseError,
    KeyError, ValueError, TypeError, AttributeError, EOFError, OSError,
)  # fmt: skip
# A cell with a formula and no value; one whose result is the empty text has t="str".
NO_RESULT = re.compile(
    rb"<c\b(?![^>]*t=\"str\")[^>]*><f\b[^>]*(?:/>|>[^<]*</f>)(?:<v ?/>|<v></v>)?</c>"
)
BLOCK = 1 << 20
OVERLAP = 1 << 14  # the longest formula a workbook holds, 8192 characters, and room


def read_xlsx(path: Path) -> Source:
    """Open a workbook as far as the header of its first sheet with rows.

    Raises
    ------
    FileError
        Not a workbook, no cell filled, or two columns of one name.
    """
    with _workbook(path) as workbook:
        filled = [
            (sheet.title, last_row, *header)
            for sheet in workbook.worksheets
            if sheet.sheet_state == "visible"
            for last_row in [sheet.max_row]
            if (header := next(_filled(sheet), None))
        ]
    if not filled:
        raise FileError(
            f"{path} is empty.", hint="Write the file again, with a header at least."
        )
    title, last_row, header_no, header_cells = filled[0]
    names = column_names(path, header_cells)

    def rows() -> Iterator[SourceRow]:
        for row_no, cells in _rows_of(path, title):
            if row_no > header_no:
                yield row_of(names, cells, row_no)

    notices = [
        f"sheet `{other}` was not read; only the first sheet, `{title}`, is"
        for other, *_ in filled[1:]
    ]
    if _has_formula_without_result(path):
        notices.append(
            "a formula has no saved result and counts as an empty cell; open the file "
            "in a spreadsheet, save it, and ingest it again"
        )
    return Source(
        names,
        rows,
        total=max(last_row - header_no, 0) if last_row else None,
        notices=tuple(notices),
    )


@contextmanager
def _workbook(path: Path) -> Iterator[Workbook]:
    try:
        with warnings.catch_warnings():
            # A workbook without styles or with drop-downs is none the worse here.
            warnings.simplefilter("ignore", UserWarning)
            workbook = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except BROKEN as error:
        raise _unreadable(path) from error
    try:
        yield workbook
    except BROKEN as error:
        raise _unreadable(path) from error
    finally:
        workbook.close()


def _unreadable(path: Path) -> FileError:
    return FileError(
        f"{path} is not a workbook that can be read.",
        hint="Open it in a spreadsheet and save it as XLSX, then ingest it again.",
    )


def _rows_of(path: Path, title: str) -> Iterator[tuple[int, tuple[object, ...]]]:
    with _workbook(path) as workbook:
        yield from _filled(workbook[title])


def _has_formula_without_result(path: Path) -> bool:
    # A program that writes formulas without working them out leaves no result; the
    # reader cannot tell that from an empty cell.
    with zipfile.ZipFile(path) as parts:
        for name in parts.namelist():
            if not name.startswith("xl/worksheets/"):
                continue
            with parts.open(name) as sheet:
                before = b""
                while block := sheet.read(BLOCK):
                    if NO_RESULT.search(before + block):
                        return True
                    before = block[-OVERLAP:]
    return False


def _filled(sheet: Any) -> Iterator[tuple[int, tuple[object, ...]]]:
    # Any: the published types call a read-only sheet by another class.
    # The size that the file states is often wrong; without it all rows are read.
    sheet.reset_dimensions()
    for row_no, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        if any(cell is not None and str(cell).strip() for cell in cells):
            yield row_no, cells
