"""What must be at hand before readings are judged and labels are weighed.

Limits are worked out in Python, once for each distinct set of facts; values are
compared with them, and labels with their rules, inside the database.
"""

import hashlib

import duckdb
import pandas as pd
import pyarrow as pa

from analytics.advice import judging, label_support
from analytics.rollup import sql_files

Fields = tuple[tuple[str, pa.DataType], ...]

_BAND = pa.struct([("low", pa.float64()), ("high", pa.float64())])
LIMITS: Fields = (
    ("context_no", pa.int64()),
    ("is_judged", pa.bool_()),
    ("low", pa.float64()),
    ("high", pa.float64()),
    ("has_window", pa.bool_()),
    ("pass_low", pa.float64()),
    ("pass_high", pa.float64()),
    ("least", pa.float64()),
    ("bands", pa.list_(_BAND)),
    ("unit_of_limit", pa.string()),
    ("source", pa.string()),
    ("assumed", pa.string()),
)
RULES: Fields = (
    ("rule_no", pa.int64()),
    ("mode", pa.string()),
    ("check", pa.string()),
    ("connector", pa.string()),
    ("role", pa.string()),
    ("points", pa.list_(pa.string())),
    ("side", pa.string()),
    ("counts", pa.string()),
    ("stages", pa.list_(pa.string())),
    ("flexed", pa.bool_()),
    ("grouped", pa.string()),
    ("only_for", pa.string()),
    ("needs_pass", pa.bool_()),
)
NEEDS: Fields = (
    ("connector", pa.string()),
    ("phases", pa.int64()),
    ("supply_system", pa.string()),
    ("check", pa.string()),
    ("needs", pa.list_(pa.list_(pa.string()))),
)
PARAMETERS: dict[str, object] = {
    "checks_with_points": list(label_support.CHECKS_WITH_POINTS),
    "back_within_days": label_support.BACK_WITHIN_DAYS,
    "comes_and_goes": list(label_support.COMES_AND_GOES),
}


def prepare(
    connection: duckdb.DuckDBPyConnection, table: str, parameters: dict[str, object]
) -> None:
    """Make what a table reads besides the tables before it, if it needs that.

    It is kept in temporary tables, which end with the connection.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds the tables made before, with the store attached.
    table : str
        Name of the table to be made next.
    parameters : dict
        `as_of` is used.
    """
    if table == "cases":
        for name in ("superseded_units", "usual_lag", "register"):
            _step(connection, name, parameters)
    if table == "readings":
        _prepare_readings(connection, parameters)
    if table == "label_support":
        _prepare_labels(connection)


def rests_on(connection: duckdb.DuckDBPyConnection) -> str:
    """Return a digest of the limits and rules used: the same give the same figures."""
    limits = _ask(connection, "reading_limits").to_csv(index=False)
    rules = label_support.rules().to_csv(index=False)
    return hashlib.sha256(f"{limits}{rules}".encode()).hexdigest()


def _prepare_readings(
    connection: duckdb.DuckDBPyConnection, parameters: dict[str, object]
) -> None:
    _keep(connection, "fields_used", judging.fields_used())
    _step(connection, "known_readings", parameters)
    _step(connection, "limit_contexts", {})
    contexts = _ask(connection, "limit_contexts")
    limits = judging.limits_of(contexts)
    limits.insert(0, "context_no", contexts["context_no"])
    _keep(connection, "reading_limits", limits, LIMITS)


def _prepare_labels(connection: duckdb.DuckDBPyConnection) -> None:
    needs = label_support.points_needed(_ask(connection, "kinds_of_unit"))
    _keep(connection, "label_rules", label_support.rules(), RULES)
    _keep(connection, "points_needed", needs, NEEDS)
    _step(connection, "label_outcomes", PARAMETERS)
    _step(connection, "early_returns", PARAMETERS)


def _keep(
    connection: duckdb.DuckDBPyConnection,
    name: str,
    frame: pd.DataFrame,
    fields: Fields = (),
) -> None:
    # The types are stated: a column without a value has none of its own.
    schema = pa.schema(fields) if fields else None
    given = pa.Table.from_pandas(frame, schema=schema, preserve_index=False)
    connection.register("given", given)
    connection.execute(f"CREATE TEMP TABLE {name} AS FROM given")
    connection.unregister("given")


def _step(
    connection: duckdb.DuckDBPyConnection, name: str, parameters: dict[str, object]
) -> None:
    sql_files.run(connection, sql_files.statement("steps", name), parameters)


def _ask(connection: duckdb.DuckDBPyConnection, question: str) -> pd.DataFrame:
    return connection.execute(sql_files.statement("questions", question)).df()
