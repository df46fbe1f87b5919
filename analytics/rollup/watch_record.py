"""The watch at a publish: what earlier ones raised, and what is kept of this one."""

import datetime as dt
from collections.abc import Mapping
from pathlib import Path

import duckdb

from analytics.rollup.rules import LifeRules
from analytics.rollup.watching import WatchOutcome, WatchRules, run_watch
from ingest.alarms import record_alarms, recorded
from ingest.errors import StoreBusyError

PATIENCE_S = 5  # for another that writes the store


def watch_now(
    connection: duckdb.DuckDBPyConnection,
    parameters: Mapping[str, object],
    day: dt.date,
    rules: LifeRules,
    published: Path,
) -> WatchOutcome:
    """Watch the fleet for recurring failures, the store attached."""
    asked = WatchRules(
        as_of=day,
        folder=published,
        per_year=rules.false_alarms_per_year,
        assumed_delay_days=rules.confirmation_delay_days,
        recorded=recorded(connection),
    )
    return run_watch(connection, parameters, asked)


def record(store_file: Path, snapshot: str, watched: WatchOutcome) -> int:
    """Keep the alarms in the store; return how many nobody had been told of.

    Figures for a day before months watched already are a look back: nobody is told.
    Where somebody writes the store for longer, the next publish finds the same alarms
    and keeps them.
    """
    if watched.through is None or watched.is_past:
        return 0
    try:
        return record_alarms(
            store_file,
            snapshot=snapshot,
            published_at=dt.datetime.now(dt.UTC),
            through=watched.through,
            first_live=watched.first_live,
            alarms=watched.alarms,
            wait_s=PATIENCE_S,
        )
    except StoreBusyError:
        return 0
