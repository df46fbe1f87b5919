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
# Judged at a time; more did not fit in the memory that publishing may take.
READINGS_AT_ONCE = 500_000
TABLES = ("readings", "label_support")
PARAMETERS: dict[str, object] = {
    "checks_with_points": list(label_support.CHECKS_WITH_POINTS),
    "back_within_days": label_support.BACK_WITHIN_DAYS,
    "comes_and_goes": list(label_support.COMES_AND_GOES),
}


def prepare_register(
    connection: duckdb.DuckDBPyConnection, parameters: dict[str, object]
) -> None:
    """Make the view of the store's units that `cases` and `unit_lives` read.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds `model_rules`, with the store attached.
    parameters : dict
        `as_of` is used.
    """
    for name in ("superseded_units", "usual_lag", "register"):
        _step(connection, name, parameters)


def make(
    connection: duckdb.DuckDBPyConnection, table: str, parameters: dict[str, object]
) -> None:
    """Make `readings`, then `label_support`, a part of the cases at a time.

    What a part needs is kept in temporary tables, which end with the connection.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds the tables made before, with the store attached.
    table : {"readings", "label_support"}
    parameters : dict
        `as_of` is used.
    """
    if table == "readings":
        _step(connection, "case_units", {})
        _keep(connection, "fields_used", judging.fields_used())
    else:
        _prepare_labels(connection)
    text = sql_files.statement("sql", table)
    for first, following in _parts(connection):
        part = {**parameters, **PARAMETERS}
        part |= {"first_case": first, "next_case": following}
        if table == "readings":
            _prepare_readings(connection, part, is_first=first is None)
        else:
            _step(connection, "label_outcomes", part)
        sql_files.run(connection, text, part)
        text = text.replace(f"CREATE TABLE {table} AS", f"INSERT INTO {table}")


def _parts(
    connection: duckdb.DuckDBPyConnection,
) -> list[tuple[str | None, str | None]]:
    # From a case to before the next; the first and the last part are open.
    question = sql_files.statement("questions", "parts_of_cases")
    found = sql_files.run(
        connection, question, {"readings_at_once": READINGS_AT_ONCE}
    ).fetchall()
    cuts: list[str | None] = [case for (case,) in found[1:]]
    return list(zip([None, *cuts], [*cuts, None], strict=True))


def rests_on(connection: duckdb.DuckDBPyConnection) -> str:
    """Return a digest of the limits and rules used: the same give the same figures."""
    limits = _ask(connection, "reading_limits").to_csv(index=False)
    rules = label_support.rules().to_csv(index=False)
    return hashlib.sha256(f"{limits}{rules}".encode()).hexdigest()


def _prepare_readings(
    connection: duckdb.DuckDBPyConnection, part: dict[str, object], *, is_first: bool
) -> None:
    _step(connection, "known_readings", part)
    _step(connection, "limit_contexts", {})
    contexts = _ask(connection, "limit_contexts")
    limits = judging.limits_of(contexts)
    limits.insert(0, "context_no", contexts["context_no"])
    _keep(connection, "reading_limits", limits, LIMITS)
    if is_first:
        connection.execute("CREATE TEMP TABLE limits_used AS FROM reading_limits")
    else:
        connection.execute("INSERT INTO limits_used FROM reading_limits")


def _prepare_labels(connection: duckdb.DuckDBPyConnection) -> None:
    needs = label_support.points_needed(_ask(connection, "kinds_of_unit"))
    _keep(connection, "label_rules", label_support.rules(), RULES)
    _keep(connection, "points_needed", needs, NEEDS)
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
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {name} AS FROM given")
    connection.unregister("given")


def _step(
    connection: duckdb.DuckDBPyConnection, name: str, parameters: dict[str, object]
) -> None:
    sql_files.run(connection, sql_files.statement("steps", name), parameters)


def _ask(connection: duckdb.DuckDBPyConnection, question: str) -> pd.DataFrame:
    return connection.execute(sql_files.statement("questions", question)).df()
