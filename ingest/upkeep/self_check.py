"""Whether the store is whole: what must hold in every store, and what is worth knowing.

A fault is what no use of the program can bring about; it means a damaged disk, an
edited file or an error of ours. The rest is told for information.
"""

import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import duckdb

from ingest import migrations, store
from ingest.errors import FileError
from ingest.records import KINDS, KindSpec
from ingest.upkeep import backup, copies

# ruff: noqa: S608 - names come from our own models
MEGABYTE = 1_000_000

STANDING = "SELECT batch FROM batches WHERE undone_at IS NULL"

BATCH_BALANCE = """
SELECT count(*) FROM batches
WHERE n_read <> n_accepted + n_unchanged + n_replaced + n_rejected
"""

UNKNOWN_UNITS = """
SELECT count(*) FROM {view}
WHERE serial NOT IN (SELECT serial FROM unit_versions)
"""

UNKNOWN_CASES = """
SELECT count(*) FROM readings
WHERE case_id NOT IN (SELECT case_id FROM repair_versions)
"""

UNKNOWN_ALARMS = """
SELECT count(*) FROM (
    SELECT alarm FROM alarm_notes
    UNION ALL
    SELECT alarm FROM alarm_deliveries
)
WHERE alarm NOT IN (SELECT alarm FROM alarms)
"""

UNKNOWN_SUGGESTED = """
SELECT count(*) FROM suggestions
WHERE case_id NOT IN (SELECT case_id FROM repair_versions)
"""

REJECTED_TWICE = """
SELECT count(*) FROM (
    SELECT rejected_row FROM rejected_rows GROUP BY ALL HAVING count(*) > 1
)
"""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at.

    Attributes
    ----------
    check : str
        A stable name.
    n : int
        How many were found; megabytes of `free_disk`, the number of `layout`.
    is_fault : bool
    message : str
        A sentence.
    """

    check: str
    n: int
    is_fault: bool
    message: str


def self_check(store_file: Path) -> list[Finding]:
    """Look over the store without changing it.

    Parameters
    ----------
    store_file : pathlib.Path

    Returns
    -------
    list of Finding

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    found = [_free_disk(store_file), _left_over(store_file)]
    try:
        with (
            store.open_for_reading(store_file, as_it_is=True) as connection,
            store.explaining(store_file),
        ):
            layout = _layout(connection, store_file)
            found.append(layout)
            if layout.n == len(migrations.steps()):
                found += [_readable(connection), *_counts(connection)]
    except FileError as error:
        found.append(Finding("readable", 1, is_fault=True, message=error.message))
    return found


def _layout(connection: duckdb.DuckDBPyConnection, store_file: Path) -> Finding:
    applied = migrations.refuse_newer(connection, path=store_file)
    known = {step.version: step.checksum for step in migrations.steps()}
    latest = max(applied, default=0)
    edited = [v for v, checksum in applied.items() if known.get(v) != checksum]
    if edited or sorted(applied) != list(range(1, latest + 1)):
        words = "The layout was not made by the migrations of this program."
        return Finding("layout", latest, is_fault=True, message=words)
    words = f"Layout {latest} of {len(known)}."
    if latest < len(known):
        words += " The next ingest brings it up to date; then check again."
    return Finding("layout", latest, is_fault=False, message=words)


def _readable(connection: duckdb.DuckDBPyConnection) -> Finding:
    # Every row is read, so that the database looks at the checksum of every block.
    row = connection.execute("SELECT current_database()").fetchone()
    tables = copies.contents(connection, str(row[0]) if row else "")
    n_rows = sum(table.n_rows for table in tables.values())
    words = f"All {n_rows} rows of {len(tables)} tables can be read."
    return Finding("readable", 0, is_fault=False, message=words)


def _counts(connection: duckdb.DuckDBPyConnection) -> list[Finding]:
    kinds = KINDS.values()
    faults = {
        "batch_balance": (
            BATCH_BALANCE,
            "Files whose rows read are not those kept, unchanged and set aside",
        ),
        "batch_rows": (
            _batch_rows(),
            "Files with more or fewer rows kept than they counted",
        ),
        "unknown_batch": (
            _sum(
                f"SELECT count(*) FROM {table} WHERE batch NOT IN ({STANDING})"
                for table in (
                    *(spec.table for spec in kinds),
                    "rejected_rows",
                    "repeated_rows",
                    "repeated_rejected_rows",
                    "unknown_cells",
                )
            ),
            "Rows of a file that is not known, or was taken back",
        ),
        "duplicate_keys": (
            _sum(map(_duplicates, kinds)),
            "Keys that one file has more than once",
        ),
        "rejected_twice": (REJECTED_TWICE, "Rows set aside more than once"),
        "unknown_alarms": (
            UNKNOWN_ALARMS,
            "Notes and deliveries of alarms that are not known",
        ),
    }
    waiting = {
        "cases_of_unknown_units": (
            UNKNOWN_UNITS.format(view="repairs"),
            "Cases of units that are not known yet",
        ),
        "readings_of_unknown_cases": (
            UNKNOWN_CASES,
            "Readings of cases that are not known yet",
        ),
        "usage_of_unknown_units": (
            UNKNOWN_UNITS.format(view="usage"),
            "Months of use of units that are not known yet",
        ),
        "status_of_unknown_units": (
            UNKNOWN_UNITS.format(view="status"),
            "Events of units that are not known yet",
        ),
        "suggestions_of_no_case": (
            UNKNOWN_SUGGESTED,
            "Suggestions kept for cases that were taken back since",
        ),
    }
    return [
        *(_counted(connection, name, *faults[name], may_be=False) for name in faults),
        *(_counted(connection, name, *waiting[name], may_be=True) for name in waiting),
    ]


def _counted(
    connection: duckdb.DuckDBPyConnection,
    check: str,
    question: str,
    words: str,
    *,
    may_be: bool,
) -> Finding:
    row = connection.execute(question).fetchone()
    n = int(row[0]) if row else 0
    return Finding(check, n, is_fault=n > 0 and not may_be, message=f"{words}: {n}.")


def _batch_rows() -> str:
    kept = " UNION ALL ".join(
        f"SELECT batch FROM {spec.table}" for spec in KINDS.values()
    )
    return f"""
    SELECT count(*) FROM batches
    LEFT JOIN (
        SELECT batch, count(*) AS n_rows FROM ({kept}) GROUP BY batch
    ) AS kept ON batches.batch = kept.batch
    WHERE undone_at IS NULL AND n_accepted + n_replaced <> coalesce(n_rows, 0)
    """


def _duplicates(spec: KindSpec) -> str:
    key = ", ".join(f'"{name}"' for name in spec.key)
    return f"""
    SELECT count(*) FROM (
        SELECT batch FROM {spec.table} GROUP BY batch, {key} HAVING count(*) > 1
    )
    """


def _sum(questions: Iterable[str]) -> str:
    return "SELECT " + " + ".join(f"({question})" for question in questions)


def _free_disk(store_file: Path) -> Finding:
    store.demand(store_file)
    free = shutil.disk_usage(store_file.parent).free // MEGABYTE
    needed = store_file.stat().st_size // MEGABYTE + 1
    words = f"{free} MB are free; a backup or a publish may take {needed} MB."
    return Finding("free_disk", free, is_fault=free < needed, message=words)


def _left_over(store_file: Path) -> Finding:
    names = [
        file.name
        for ending in (copies.OLD, backup.UNFINISHED)
        if (file := store_file.with_name(f"{store_file.name}.{ending}")).exists()
    ]
    words = "No file was left behind by a command that was broken off."
    if names:
        words = f"A command was broken off and left {', '.join(names)}; delete it."
    return Finding("left_over", len(names), is_fault=False, message=words)
