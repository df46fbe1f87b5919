"""What a snapshot rests on, as its id, and whether its counts agree with the store."""

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict

import duckdb

from analytics.rollup import judged, sql_files, suggested
from analytics.rollup.rules import LifeRules
from analytics.rollup.watching import WatchOutcome
from ingest import catalogue
from ingest.errors import RefusedError

BALANCE = (
    *("units_of_store", "units_balance", "cases_of_store", "readings_of_store"),
    *("ages", "failures"),
)
ID_DIGITS = 8


def identity(
    connection: duckdb.DuckDBPyConnection,
    day: dt.date,
    rules: LifeRules,
    watched: WatchOutcome,
) -> str:
    """Return the id of the figures: their day, and a digest of what they rest on.

    That is the files taken in, the rules, the codes, the SQL, the limits of readings,
    the suggestions kept of cases that are open no longer, the thresholds of the watch,
    and the alarms that stand. The same of all these give the same figures and id.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    day : datetime.date
    rules : LifeRules
    watched : WatchOutcome
    """
    batches = connection.execute(sql_files.statement("questions", "batches")).fetchall()
    modes = [asdict(mode) for mode in catalogue.failure_modes().values()]
    basis = json.dumps(
        [
            *(batches, asdict(rules), modes, sql_files.all_statements()),
            judged.rests_on(connection),
            suggested.rests_on(connection),
            [watched.thresholds, *(alarm.alarm for alarm in watched.alarms)],
        ],
        sort_keys=True,
    )
    digest = hashlib.sha256(f"{day}{basis}".encode()).hexdigest()
    return f"{day:%Y-%m-%d}-{digest[:ID_DIGITS]}"


def check_balance(
    connection: duckdb.DuckDBPyConnection, parameters: Mapping[str, object]
) -> None:
    """Refuse figures that do not agree with the store.

    Raises
    ------
    RefusedError
        Says which count, and both numbers.
    """
    for name in BALANCE:
        text = sql_files.statement("balance", name)
        row = sql_files.run(connection, text, parameters).fetchone()
        what, found, expected = row or (name, None, None)
        if found != expected:
            raise RefusedError(
                f"Not published: {what}: found {found}, expected {expected}.",
                hint="The figures published before stay. This is a fault of the "
                "program: report it with this sentence.",
            )
