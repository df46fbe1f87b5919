"""Publish: recompute every table from the store into a new, immutable snapshot.

A snapshot is a file of its own that never changes; `CURRENT` names the newest. The
balance checks run before the pointer moves, so a wrong snapshot is never shown.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import asdict, dataclass, fields
from importlib.metadata import version
from pathlib import Path

import duckdb

from analytics.rollup import judged, sql_files, suggested
from analytics.rollup.basis import check_balance, identity
from analytics.rollup.observation import ObservationEnd, observation_end
from analytics.rollup.published_files import clear, unfinished_file
from analytics.rollup.rules import LifeRules, ModelRules
from analytics.rollup.snapshot import point_to, pointed_to
from analytics.rollup.training import train_if_due
from analytics.rollup.watch_record import record, watch_now
from analytics.rollup.work_space import give_way, open_unfinished
from ingest import catalogue, store
from ingest.errors import UsageError

Progress = Callable[[str, int, int | None], None]

# In the order in which they read each other.
FIRST_TABLES = ("model_rules", "cases", "confirmation_delay")
THEN_TABLES = (
    "unit_lives",
    "units",
    "unit_facts",
    "lives",
    "left_out_units",
    "shipments",
    "values_in_use",
    "register_counts",
    "evidence",
    "readings",
    "label_support",
    "check_counts",
    "intake_quality",
    "rejected_examples",
    "waiting",
)


@dataclass(frozen=True, slots=True)
class Published:
    """What `publish` made.

    Attributes
    ----------
    snapshot : str
        Id of the snapshot: the day it speaks for and a digest of what it rests on.
    as_of : datetime.date
    n_units, n_cases : int
    trained : bool
        Whether the fault suggester was trained anew.
    n_new_alarms : int
        Alarms that no figures published before had raised.
    """

    snapshot: str
    as_of: dt.date
    n_units: int
    n_cases: int
    trained: bool
    n_new_alarms: int


def publish(
    store_file: Path,
    published: Path,
    *,
    as_of: dt.date | None = None,
    rules: LifeRules | None = None,
    train: bool = False,
    progress: Progress | None = None,
) -> Published:
    """Recompute the snapshot and point to it.

    Parameters
    ----------
    store_file : Path
        The store; its records are only read. What the watch raised and what was
        suggested for open cases is kept in it.
    published : Path
        Folder of the snapshots; made if missing.
    as_of : datetime.date, optional
        Last day the data speak for; without it the latest `received_on`, or the day
        through which the newest files were said to be complete.
    rules : LifeRules, optional
        What the settings say; without it the defaults.
    train : bool, default False
        Train the fault suggester even if the last one would do.
    progress : callable, optional
        Called as progress(words, done, total).

    Returns
    -------
    Published

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    UsageError
        No `as_of` given and no return on record to take it from.
    RefusedError
        A balance check failed; the snapshot shown before stays.
    DiskError
        The disk is full, or the folder may not be written; the snapshot shown before
        stays.
    """
    tell = progress or (lambda *_: None)
    with store.explaining(published):
        return _published(
            store_file, published, as_of, rules or LifeRules(), train=train, tell=tell
        )


def _published(
    store_file: Path,
    published: Path,
    as_of: dt.date | None,
    rules: LifeRules,
    *,
    train: bool,
    tell: Progress,
) -> Published:
    with store.open_for_reading(store_file):
        pass  # brought up to date, if it is of an older version
    unfinished = unfinished_file(published)
    steps = len(FIRST_TABLES) + len(THEN_TABLES) + 3
    try:
        with open_unfinished(unfinished) as connection:
            store.attach_read_only(connection, store_file)
            day = as_of or _last_day(connection)
            parameters = _parameters(connection, day, rules)
            for done, table in enumerate(FIRST_TABLES):
                tell(f"counting {table.replace('_', ' ')}", done, steps)
                if table == "cases":
                    judged.prepare_register(connection, parameters)
                _make(connection, table, parameters)
            end = _observation_end(connection, day, rules)
            parameters |= {"observation_end": end.day} | _about(end)
            for done, table in enumerate(THEN_TABLES, start=len(FIRST_TABLES)):
                tell(f"counting {table.replace('_', ' ')}", done, steps)
                make = judged.make if table in judged.TABLES else _make
                make(connection, table, parameters)
            check_balance(connection, parameters)
            tell("watching for recurring failures", steps - 2, steps)
            watched = watch_now(connection, parameters, day, rules, published)
            snapshot = identity(connection, day, rules, watched)
            tell("learning from confirmed cases", steps - 1, steps)
            give_way(connection)
            training = train_if_due(
                connection, published, snapshot=snapshot, as_of=day, force=train
            )
            given = suggested.suggest_for_open(
                connection, published, snapshot=snapshot, suggester=training.folder
            )
            parameters |= {"snapshot": snapshot, "suggester": training.folder}
            parameters["previous"] = _shown_before(published, snapshot)
            _make(connection, "about", parameters)
            counts = _ask(connection, "size").fetchone()
            connection.execute("DETACH store")
            # Closing would do the same, and say nothing if the disk is full.
            connection.execute("CHECKPOINT")
        point_to(published, snapshot, unfinished)
    finally:
        clear(unfinished)
    n_new = record(store_file, snapshot, watched)
    suggested.record(store_file, given)
    tell("published", steps, steps)
    n_units, n_cases = counts or (0, 0)
    return Published(snapshot, day, n_units, n_cases, training.is_new, n_new)


def _make(
    connection: duckdb.DuckDBPyConnection, table: str, parameters: dict[str, object]
) -> None:
    sql_files.run(connection, sql_files.statement("sql", table), parameters)


def _ask(
    connection: duckdb.DuckDBPyConnection, question: str
) -> duckdb.DuckDBPyConnection:
    return connection.execute(sql_files.statement("questions", question))


def _last_day(connection: duckdb.DuckDBPyConnection) -> dt.date:
    row = _ask(connection, "last_day").fetchone()
    day: dt.date | None = row[0] if row else None
    if day is None:
        raise UsageError(
            "No return is on record, so the last day the data speak for is not known.",
            hint="Name it: `mendfleet publish --as-of YYYY-MM-DD`.",
        )
    return day


def _parameters(
    connection: duckdb.DuckDBPyConnection, day: dt.date, rules: LifeRules
) -> dict[str, object]:
    models = sorted(rules.models)
    of_models = [asdict(rules.models[model]) for model in models]
    modes = catalogue.failure_modes().values()
    origin = _ask(connection, "origin").fetchone()
    by_model = {
        field.name: [of[field.name] for of in of_models] for field in fields(ModelRules)
    }
    return {
        **by_model,
        **judged.PARAMETERS,
        "as_of": day,
        "models": models,
        "error_words": list(catalogue.codes("charger_error_codes")),
        "gate_checks": [
            check.code for check in catalogue.checks().values() if check.gate
        ],
        "not_failures": [mode.code for mode in modes if not mode.is_failure],
        "seen_in_warranty": rules.failures_seen == "in_warranty",
        "failures_seen": rules.failures_seen,
        "origin": origin[0] if origin else "records",
    }


def _observation_end(
    connection: duckdb.DuckDBPyConnection, day: dt.date, rules: LifeRules
) -> ObservationEnd:
    delays = _ask(connection, "confirmed_delays").fetchnumpy()
    return observation_end(
        delays["delay_days"],
        delays["truncation_days"],
        delays["n_cases"],
        as_of=day,
        assumed_delay_days=rules.confirmation_delay_days,
    )


def _about(end: ObservationEnd) -> dict[str, object]:
    return {
        "delay_days": end.delay_days,
        "delay_source": end.source,
        "n_delays": end.n_delays,
        "program": version("mendfleet"),
        "published_at": dt.datetime.now(dt.UTC).replace(tzinfo=None),
    }


def _shown_before(published: Path, snapshot: str) -> str | None:
    # Figures are never those before themselves, even where their file was lost.
    shown = pointed_to(published)
    return shown if shown != snapshot else None
