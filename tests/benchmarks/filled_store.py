"""A store of any size: the invented fleet, over and over, filled in by SQL.

Every copy has serials and case numbers of its own, one in ten has lots and one in a
hundred sites of its own, and the days of a unit and its cases are moved back together
by 0 to 59 days. The first copy came through files, like any other. Readings are left
out.
"""

from pathlib import Path

from ingest import store
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet

N_INVENTED = 20_000
OWN = {  # a serial is letter, month and number: C2107-000198
    "serial": "left(serial, 6) || lpad(CAST(copy * 20000 + CAST(substr(serial, 7) AS"
    " INTEGER) AS VARCHAR), 8, '0')",
    "case_id": "case_id || '-' || copy",
    "production_lot": "production_lot || '-' || copy % 10",
    "site": "site || '-' || copy % 100",
}
MOVED = "{day} - CAST(hash(serial, copy) % 60 AS INTEGER)"
# Records come as time goes on.
GROWN = {
    "unit_versions": "manufactured_on, copy",
    "repair_versions": "received_on, copy",
}
COLUMNS = """
SELECT column_name, data_type FROM duckdb_columns() WHERE table_name = '{table}'
"""
COPIED = """
INSERT INTO {table}
SELECT {columns}
FROM {table}, range(1, {n_copies}) AS copies (copy)
ORDER BY {grown}
"""


def fill(file: Path, *, n_units: int) -> None:
    """Make a store that holds so many units; about one in eight has a case.

    Parameters
    ----------
    file : Path
        Name of the store; files of the invented fleet are left beside it.
    n_units : int
        A multiple of 20 000.
    """
    made = write_fleet(file.parent / "invented", n_units=N_INVENTED, seed=1)
    ingest_paths(file, [made.units, made.repairs])
    with store.open_for_writing(file) as connection:
        for table, grown in GROWN.items():
            types = connection.execute(COLUMNS.format(table=table)).fetchall()
            columns = [
                MOVED.format(day=name) if kind == "DATE" else OWN.get(name, name)
                for name, kind in types
            ]
            connection.execute(
                COPIED.format(
                    table=table,
                    columns=", ".join(columns),
                    grown=grown,
                    n_copies=n_units // N_INVENTED,
                )
            )
