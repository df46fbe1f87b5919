"""Cases and readings in memory, judged by the statements that publishing runs."""

import datetime as dt
from collections.abc import Mapping, Sequence

import duckdb
import pandas as pd

from analytics.rollup import judged
from ingest.kinds.readings import Reading

DAY = dt.date(2025, 6, 1)
Cells = Mapping[str, object]

LAYOUT = """
ATTACH ':memory:' AS store;
CREATE TABLE store.units (
    serial VARCHAR, model VARCHAR, connector VARCHAR, phases INTEGER,
    supply_system VARCHAR, ground_fault_device VARCHAR, cable_length_m DOUBLE,
    conductor_area_mm2 DOUBLE, earth_area_mm2 DOUBLE, rated_current_a DOUBLE
);
CREATE TABLE store.readings (
    case_id VARCHAR, "check" VARCHAR, taken_at TIMESTAMP, stage VARCHAR,
    point VARCHAR, condition VARCHAR, sequence BIGINT, value VARCHAR, unit VARCHAR,
    quantity DOUBLE, bound VARCHAR, bound_quantity DOUBLE, outcome VARCHAR,
    instrument VARCHAR, ambient_c DOUBLE, minutes DOUBLE,
    batch BIGINT, row_no BIGINT
);
CREATE VIEW store.reading_versions AS FROM store.readings;
CREATE TABLE store.repair_versions (
    case_id VARCHAR, batch BIGINT, confirmed_mode VARCHAR, confirmed_on DATE
);
CREATE TABLE cases (
    case_id VARCHAR, serial VARCHAR, mode VARCHAR, symptoms VARCHAR,
    received_on DATE, confirmed_on DATE, closed_on DATE
);
CREATE TABLE model_rules (
    model VARCHAR, control_supply_v DOUBLE, coil_ohm DOUBLE, contactor_open_ohm DOUBLE
);
"""


def judged_tables(
    *,
    units: Sequence[Cells] = (),
    cases: Sequence[Cells] = (),
    readings: Sequence[Cells] = (),
    models: Sequence[Cells] = (),
    versions: Sequence[Cells] = (),
    as_of: dt.date = dt.date(2026, 1, 1),
) -> duckdb.DuckDBPyConnection:
    """Return a database that holds `readings` and `label_support`."""
    connection = duckdb.connect()
    connection.execute(LAYOUT)
    stored = [_stored(cells) for cells in readings]
    given = {
        "store.units": units,
        "cases": cases,
        "model_rules": models,
        "store.readings": stored,
        "store.repair_versions": versions
        or [
            {
                "case_id": cells["case_id"],
                "batch": 1,
                "confirmed_mode": cells.get("mode"),
                "confirmed_on": cells.get("confirmed_on"),
            }
            for cells in cases
        ],
    }
    for table, rows in given.items():
        if rows:
            connection.register("given", pd.DataFrame([dict(row) for row in rows]))
            connection.execute(f"INSERT INTO {table} BY NAME FROM given")
            connection.unregister("given")
    parameters = judged.PARAMETERS | {"as_of": as_of}
    for table in ("readings", "label_support"):
        judged.make(connection, table, parameters)
    return connection


def table(connection: duckdb.DuckDBPyConnection, name: str) -> pd.DataFrame:
    return connection.execute(f"FROM {name}").df()


def _stored(cells: Cells) -> dict[str, object]:
    # As text, as a file has it; a cell left out is empty.
    text = {name: str(cell) for name, cell in cells.items() if cell is not None}
    reading = Reading.model_validate({"taken_at": DAY.isoformat()} | text)
    return reading.model_dump() | reading.measured()._asdict()


UNIT: Cells = {
    "serial": "U-1",
    "model": "Model A",
    "connector": "type_1",
    "phases": 1,
    "supply_system": "240",
    "ground_fault_device": "ccid20",
    "cable_length_m": 5.0,
    "conductor_area_mm2": 6.0,
    "earth_area_mm2": 6.0,
    "rated_current_a": 32.0,
}
FLEXED = {"condition": "flexed"}


def typed(check, shown, point=None, **more):
    """Return a reading as typed: `0.4 ohm`, or an outcome word."""
    value, _, unit = shown.partition(" ")
    cells = {"value": value, "unit": unit} if unit else {"outcome": value}
    return {"check": check, "stage": "diagnosis", "point": point} | cells | more


def support_of(mode, *readings, unit=UNIT, symptoms=None):
    found = judged_tables(
        units=[unit],
        cases=[
            {
                "case_id": "C1", "serial": "U-1", "mode": mode, "symptoms": symptoms,
                "received_on": DAY, "confirmed_on": DAY,
            }
        ],
        readings=[{"case_id": "C1"} | reading for reading in readings],
    )  # fmt: skip
    row = table(found, "label_support").iloc[0]
    return row["support"], row["backed_by"], row["contradicted_by"], row["words"]
