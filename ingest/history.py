"""One case or one unit, with every version that was ever stored of it."""

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb

from ingest import store, stored
from ingest.errors import NotFoundError
from ingest.quarantine import RejectedRow, rejected_naming

BOOKKEEPING = ("batch", "row_no", "path", "started_at")


@dataclass(frozen=True, slots=True)
class Version:
    """A record as one file brought it.

    Attributes
    ----------
    batch : int
    file : str
        As it was given.
    row_no : int
        As a spreadsheet counts.
    taken_in_at : datetime.datetime
        In UTC.
    values : dict of str to object
        By field name.
    changed : tuple of str
        Fields in which it differs from the version before; none of the first.
    unknown : dict of str to str
        Cells of columns that no field is known for, by heading, if they were kept.
    """

    batch: int
    file: str
    row_no: int
    taken_in_at: dt.datetime
    values: dict[str, Any]
    changed: tuple[str, ...] = ()
    unknown: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CaseHistory:
    """One case.

    Attributes
    ----------
    case_id : str
    versions : tuple of Version
        Oldest first: the last one stands.
    readings : tuple of dict
        In the order taken, by field name, with `quantity`, `bound`,
        `bound_quantity` in the check's unit.
    problems : tuple of RejectedRow
        Rows set aside that name this case.
    """

    case_id: str
    versions: tuple[Version, ...]
    readings: tuple[dict[str, Any], ...]
    problems: tuple[RejectedRow, ...]


@dataclass(frozen=True, slots=True)
class UnitHistory:
    """One unit.

    Attributes
    ----------
    serial : str
    versions : tuple of Version
        Oldest first; none while only its cases are known.
    cases : tuple of dict
        As they stand, by field name, the newest last.
    problems : tuple of RejectedRow
        Rows set aside that name this unit.
    """

    serial: str
    versions: tuple[Version, ...]
    cases: tuple[dict[str, Any], ...]
    problems: tuple[RejectedRow, ...]


def files_taken_in(store_file: Path) -> tuple[str, ...]:
    """Return the files the store was made from, as they were given, oldest first.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    with store.open_for_reading(store_file) as connection:
        return tuple(row["path"] for row in stored.ask(connection, stored.FILES))


def case_history(store_file: Path, case_id: str, *, wait_s: float = 0) -> CaseHistory:
    """Return all that the store holds about a case.

    Parameters
    ----------
    store_file : pathlib.Path
    case_id : str
    wait_s : float, default 0
        Seconds to wait for another that writes the store.

    Raises
    ------
    NotFoundError
        No repair of this case was ever stored.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    name = case_id.strip()
    with store.open_for_reading(store_file, wait_s=wait_s) as connection:
        versions = _versions(connection, stored.CASE_VERSIONS, name)
        if not versions:
            raise NotFoundError(
                f"There is no case {name} in {store_file}.",
                hint="Look at its number; `mendfleet export cases` lists all of them.",
            )
        readings = _plain(stored.ask(connection, stored.READINGS_OF_CASE, value=name))
        problems = rejected_naming(
            connection, "case_id", name, kinds=("repairs", "readings")
        )
    return CaseHistory(name, versions, readings, tuple(problems))


def unit_history(store_file: Path, serial: str, *, wait_s: float = 0) -> UnitHistory:
    """Return all that the store holds about a unit.

    Parameters
    ----------
    store_file : pathlib.Path
    serial : str
        In any case of letters.
    wait_s : float, default 0
        Seconds to wait for another that writes the store.

    Raises
    ------
    NotFoundError
        Neither the unit nor a case of it was ever stored.
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    name = serial.strip().upper()
    with store.open_for_reading(store_file, wait_s=wait_s) as connection:
        versions = _versions(connection, stored.UNIT_VERSIONS, name)
        cases = _plain(stored.ask(connection, stored.CASES_OF_UNIT, value=name))
        if not versions and not cases:
            raise NotFoundError(
                f"There is no unit {name} in {store_file}.",
                hint="Look at its serial; `mendfleet export units` lists all of them.",
            )
        problems = rejected_naming(
            connection, "serial", name, kinds=("units", "repairs")
        )
    return UnitHistory(name, versions, cases, tuple(problems))


def _versions(
    connection: duckdb.DuckDBPyConnection, question: str, value: str
) -> tuple[Version, ...]:
    rows = stored.ask(connection, question, value=value)
    unknown = _unknown_cells(connection, rows)
    versions = []
    before: dict[str, Any] | None = None
    for row in rows:
        values = _fields(row)
        changed = [name for name in values if before and values[name] != before[name]]
        versions.append(
            Version(
                batch=row["batch"],
                file=row["path"],
                row_no=row["row_no"],
                taken_in_at=row["started_at"],
                values=values,
                changed=tuple(changed),
                unknown=unknown.get((row["batch"], row["row_no"]), {}),
            )
        )
        before = values
    return tuple(versions)


def _unknown_cells(
    connection: duckdb.DuckDBPyConnection, rows: list[dict[str, Any]]
) -> dict[tuple[int, int], dict[str, str]]:
    found: dict[tuple[int, int], dict[str, str]] = {}
    for cell in stored.ask(
        connection,
        stored.UNKNOWN_CELLS,
        batches=[row["batch"] for row in rows],
        rows=[row["row_no"] for row in rows],
    ):
        of_row = found.setdefault((cell["batch"], cell["row_no"]), {})
        of_row[cell["field"]] = cell["cell"]
    return found


def _plain(rows: list[dict[str, Any]]) -> tuple[dict[str, Any], ...]:
    return tuple(_fields(row) for row in rows)


def _fields(row: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in row.items() if name not in BOOKKEEPING}
