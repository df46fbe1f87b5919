"""XLSX: the first sheet that holds rows, each cell as the text it stands for.

Real date cells become ISO dates, numbers their digits, formulas the result that the
spreadsheet saved.
"""

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

    return Source(
        names,
        rows,
        total=max(last_row - header_no, 0) if last_row else None,
        notices=tuple(
            f"sheet `{other}` was not read; only the first sheet, `{title}`, is"
            for other, *_ in filled[1:]
        ),
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


def _filled(sheet: Any) -> Iterator[tuple[int, tuple[object, ...]]]:
    # Any: the published types call a read-only sheet by another class.
    # The size that the file states is often wrong; without it all rows are read.
    sheet.reset_dimensions()
    for row_no, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        if any(cell is not None and str(cell).strip() for cell in cells):
            yield row_no, cells
