"""Where a snapshot is made: how much memory that may take, and where the rest goes."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

MEMORY = "600MB"
MEMORY_BESIDE_TRAINING = "150MB"
MOST_THREADS = 4  # each holds the rows it writes in memory


@contextmanager
def open_unfinished(file: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a file to publish into; what does not fit in memory goes beside it.

    Parameters
    ----------
    file : Path

    Yields
    ------
    duckdb.DuckDBPyConnection
    """
    config: dict[str, str | bool | int | float | list[str]] = {
        "memory_limit": MEMORY,
        "threads": min(os.cpu_count() or 1, MOST_THREADS),
        "temp_directory": str(moved_out_of(file)),
    }
    with duckdb.connect(str(file), config=config) as connection:
        yield connection


def give_way(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave memory to what is computed outside the database from here on."""
    connection.execute(f"SET memory_limit = '{MEMORY_BESIDE_TRAINING}'")


def moved_out_of(file: Path) -> Path:
    """Return the folder beside a file for what is moved out of memory."""
    return file.with_name(f"{file.name}.tmp")
