"""Rows set aside: shown with their reasons, out as a file to correct, and in again.

A correction file has the user's own columns, then the reasons, then `rejected_row`,
which names the row set aside: when the corrected row is accepted, that one is
resolved.
"""

import csv
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import xlsxwriter

from ingest import store, stored
from ingest.errors import UsageError
from ingest.readers.source import Problem
from ingest.records import KINDS
from ingest.set_aside import CONTROL_COLUMNS

__all__ = [
    "Problem",
    "RejectedRow",
    "correction_parts",
    "correction_table",
    "rejected_naming",
    "rejected_rows",
    "write_correction_files",
]

MOST_ROWS = 1_048_576  # of a sheet
LONGEST_CELL = 32_767  # what a workbook holds; a longer text is too long here as well
SUFFIXES = (".csv", ".xlsx")


@dataclass(frozen=True, slots=True)
class RejectedRow:
    """One row set aside, whole.

    Attributes
    ----------
    rejected_row : str
        Names it.
    kind, path : str
    row_no : int
        As a spreadsheet counts: the header is row 1.
    cells : dict of str to str or None
        By the user's own column names.
    problems : list of Problem
    """

    rejected_row: str
    kind: str
    path: str
    row_no: int
    cells: dict[str, str | None]
    problems: list[Problem]

    @property
    def codes(self) -> str:
        """The problems as `field:code`, each once, with `; ` between."""
        codes = (f"{problem.field}:{problem.code}" for problem in self.problems)
        return "; ".join(dict.fromkeys(codes))


def rejected_rows(store_file: Path, *, wait_s: float = 0) -> list[RejectedRow]:
    """Return the rows set aside and not yet corrected, in the order they came.

    Parameters
    ----------
    store_file : pathlib.Path
    wait_s : float, default 0
        Seconds to wait for another that writes the store.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    with store.open_for_reading(store_file, wait_s=wait_s) as connection:
        return [_rejected(row) for row in stored.ask(connection, stored.REJECTED)]


def rejected_naming(
    connection: duckdb.DuckDBPyConnection,
    field: str,
    value: str,
    *,
    kinds: Sequence[str],
) -> list[RejectedRow]:
    """Return the rows of these kinds set aside whose cell of `field` is `value`."""
    found = stored.ask(
        connection,
        stored.REJECTED_NAMING,
        field=field,
        value=value,
        kinds=list(kinds),
    )
    return [_rejected(row) for row in found]


def ways_of_reading(
    store_file: Path, rejected_rows: Iterable[str]
) -> list[dict[str, Any]]:
    """Return how rows set aside were read when they came last.

    Returns
    -------
    list of dict
        rejected_row, kind, read_as (the batch that says how), mapping (its text, None
        without one), decimal_comma.

    Raises
    ------
    StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    with store.open_for_reading(store_file) as connection:
        return stored.ask(
            connection, stored.WAYS_OF_READING, rejected_rows=sorted(rejected_rows)
        )


def correction_parts(rows: Sequence[RejectedRow]) -> dict[str, list[RejectedRow]]:
    """Return rows set aside by kind: each kind goes to a correction file of its own."""
    parts = {kind: [row for row in rows if row.kind == kind] for kind in KINDS}
    return {kind: part for kind, part in parts.items() if part}


def correction_table(
    rows: Sequence[RejectedRow], kind: str
) -> tuple[list[str], list[list[str | None]]]:
    """Return the header and the rows of a correction file of one kind.

    Parameters
    ----------
    rows : sequence of RejectedRow
    kind : str
        Rows of other kinds are passed over.

    Returns
    -------
    columns : list of str
        The user's own, in order, then `problems`, then `rejected_row`.
    cells : list of list of str or None
        `problems` holds `field:code`, separated by "; ".
    """
    of_kind = [row for row in rows if row.kind == kind]
    own = list(dict.fromkeys(name for row in of_kind for name in row.cells))
    cells = [
        [
            *(row.cells.get(name) for name in own),
            row.codes,
            row.rejected_row,
        ]
        for row in of_kind
    ]
    return [*own, *CONTROL_COLUMNS], cells


def write_correction_files(store_file: Path, out: Path) -> list[Path]:
    """Write the rows set aside to a file to correct and ingest again.

    Parameters
    ----------
    store_file : pathlib.Path
    out : pathlib.Path
        `.csv` or `.xlsx`. With rows of several kinds there is one file for each,
        `name-units.csv` and so on.

    Returns
    -------
    list of pathlib.Path
        The files written; none when no row waits.

    Raises
    ------
    UsageError
        The suffix is another one, or a workbook cannot hold so many rows.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    suffix = out.suffix.lower()
    if suffix not in SUFFIXES:
        raise UsageError(
            f"{out} has the suffix `{out.suffix}`.",
            hint="Name a .csv or .xlsx file for the rows to correct.",
        )
    parts = correction_parts(rejected_rows(store_file))
    most = max(map(len, parts.values()), default=0)
    if suffix == ".xlsx" and most >= MOST_ROWS:
        raise UsageError(
            f"{out} would need {most + 1} rows; a workbook holds {MOST_ROWS}.",
            hint="Name a .csv file for the rows to correct.",
        )
    write = _write_csv if suffix == ".csv" else _write_xlsx
    files = []
    out.parent.mkdir(parents=True, exist_ok=True)
    for name, rows in parts.items():
        several = len(parts) > 1
        file = out.with_name(f"{out.stem}-{name}{out.suffix}") if several else out
        write(file, *correction_table(rows, rows[0].kind))
        files.append(file)
    return files


def _rejected(row: dict[str, Any]) -> RejectedRow:
    cells = json.loads(row.pop("cells"))
    problems = [Problem(**problem) for problem in json.loads(row.pop("problems"))]
    return RejectedRow(**row, cells=cells, problems=problems)


def _write_csv(file: Path, columns: list[str], rows: list[list[str | None]]) -> None:
    # With a BOM a spreadsheet reads it as UTF-8.
    with file.open("w", encoding="utf-8-sig", newline="") as out:
        csv.writer(out).writerows([columns, *rows])


def _write_xlsx(file: Path, columns: list[str], rows: list[list[str | None]]) -> None:
    # As text, all of it: a serial such as 00012 or =A1 must come back as it went.
    table: list[list[str | None]] = [[*columns], *rows]
    with xlsxwriter.Workbook(file) as workbook:
        sheet = workbook.add_worksheet()
        for place, row in enumerate(table):
            for column, cell in enumerate(row):
                if cell is not None:
                    sheet.write_string(place, column, cell[:LONGEST_CELL])
        sheet.freeze_panes(1, 0)
        sheet.autofit()
