"""The tables that the watch leaves in a snapshot."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import duckdb
import pandas as pd
import pyarrow as pa

from analytics.rollup import sql_files
from analytics.rollup.watch_explained import Row

Rows = Sequence[Row]


@dataclass(frozen=True, slots=True)
class Tables:
    """Rows by table, as `sql/watch_….sql` describes them."""

    about: Rows
    families: Rows = ()
    thin: Rows = ()
    early: Rows = ()
    alarms: Rows = ()
    series: Rows = ()
    cases: Rows = ()
    comparison: Rows = ()
    lots: Rows = ()


def keep_tables(connection: duckdb.DuckDBPyConnection, tables: Tables) -> None:
    """Make the tables of the watch and fill them.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    tables : Tables
    """
    for table in fields(Tables):
        name = f"watch_{table.name}"
        connection.execute(sql_files.statement("sql", name))
        rows = getattr(tables, table.name)
        if rows:
            _fill(connection, name, rows)


def _fill(
    connection: duckdb.DuckDBPyConnection, name: str, rows: Sequence[Row]
) -> None:
    columns = list(dict.fromkeys(column for row in rows for column in row))
    frame = pd.DataFrame(rows, columns=columns, dtype=object)
    given = pa.Table.from_pandas(frame, preserve_index=False)
    connection.register("given", given)
    connection.execute(f"INSERT INTO {name} BY NAME FROM given")
    connection.unregister("given")
