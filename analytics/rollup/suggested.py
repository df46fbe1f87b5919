"""Suggestions for open cases, kept when they are given and held against later causes.

At every publish each case that is open gets a suggestion, once, from the suggester of
those figures. As nobody knows its cause yet, no suggester can have learned from it:
how such suggestions fare is a test that nothing was tuned on.
"""

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pyarrow as pa

from analytics.advice.evaluation import are_enough
from analytics.advice.suggest import FaultSuggester
from analytics.rollup import sql_files
from ingest.errors import StoreBusyError
from ingest.suggestions import GIVEN, record_suggestions

TABLE = "suggestion_fared"
KEPT_MODES = 5  # as many as the bench shows
AT_ONCE = 5  # read so many vectors of 2 048 cases at a time: memory stays bounded
PATIENCE_S = 5  # for another that writes the store


@dataclass(frozen=True, slots=True)
class GivenNow:
    """The suggestions of one publish.

    Attributes
    ----------
    rows : pyarrow.Table
        As `ingest.suggestions.GIVEN`.
    given_on : datetime.datetime
        UTC, without a zone.
    snapshot, suggester : str
    n_cases : int
        Confirmed cases that the suggester had learned from.
    """

    rows: pa.Table
    given_on: dt.datetime
    snapshot: str
    suggester: str
    n_cases: int


def rests_on(connection: duckdb.DuckDBPyConnection) -> str | None:
    """Return a digest of the suggestions whose cases are no longer open; None of none.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        With the store attached.
    """
    connection.execute(sql_files.statement("steps", "open_cases"))
    question = sql_files.statement("questions", "suggestions_settled")
    row = connection.execute(question).fetchone()
    return row[0] if row else None


def suggest_for_open(
    connection: duckdb.DuckDBPyConnection,
    published: Path,
    *,
    snapshot: str,
    suggester: str,
) -> GivenNow:
    """Suggest for every open case that has no suggestion yet, and make the table.

    A suggester that cannot be read gives none; the next publish tries again.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds the tables made before, with the store attached.
    published : Path
        Folder of the snapshots.
    snapshot : str
        Id of the snapshot being made.
    suggester : str
        Name of the folder of its suggester.
    """
    connection.execute(sql_files.statement("steps", "open_cases"))
    model = _loaded(published / suggester)
    blocks: list[pa.Table] = []
    if model:
        due = connection.execute(sql_files.statement("questions", "suggestions_due"))
        while len(cases := due.fetch_df_chunk(AT_ONCE)):
            blocks.append(_suggested(model, cases))
    given = GivenNow(
        rows=pa.concat_tables(blocks) if blocks else GIVEN.empty_table(),
        given_on=dt.datetime.now(dt.UTC).replace(tzinfo=None),
        snapshot=snapshot,
        suggester=suggester,
        n_cases=model.n_cases if model else 0,
    )
    _make_fared(connection, given)
    return given


def record(store_file: Path, given: GivenNow) -> int:
    """Keep the suggestions in the store; return how many were new.

    Where somebody writes the store for longer, none is kept, and the next publish
    suggests again.
    """
    if not given.rows.num_rows:
        return 0
    try:
        return record_suggestions(
            store_file,
            given.rows,
            snapshot=given.snapshot,
            suggester=given.suggester,
            n_cases=given.n_cases,
            given_on=given.given_on,
            wait_s=PATIENCE_S,
        )
    except StoreBusyError:
        return 0


def _loaded(folder: Path) -> FaultSuggester | None:
    try:
        return FaultSuggester.load(folder)
    except ValueError:
        return None


def _suggested(model: FaultSuggester, cases: pd.DataFrame) -> pa.Table:
    found = model.probabilities(cases)
    p = found.to_numpy()
    order = np.argsort(-p, axis=1, kind="stable")[:, :KEPT_MODES]
    n, kept = order.shape
    ends = np.arange(n + 1) * kept
    # Rounded to nothing a share has no logarithm; it then adds nothing to the bits.
    log_p = np.log(np.maximum(p, np.finfo(float).tiny))
    prior = model.prior
    log_prior = np.log([prior[cause] for cause in model.causes])
    causes = np.array([str(cause) for cause in model.causes], dtype=object)
    return pa.table(
        [
            pa.array(cases["case_id"], pa.string()),
            pa.array(are_enough(log_p, log_prior)),
            pa.ListArray.from_arrays(ends, pa.array(causes[order].ravel())),
            pa.ListArray.from_arrays(
                ends, pa.array(np.take_along_axis(p, order, axis=1).ravel())
            ),
        ],
        schema=GIVEN,
    )


def _make_fared(connection: duckdb.DuckDBPyConnection, given: GivenNow) -> None:
    about = {"given_on": given.given_on, "snapshot": given.snapshot}
    about |= {"suggester": given.suggester, "n_cases": given.n_cases}
    connection.register("given", given.rows)
    keep = sql_files.statement("steps", "given_now")
    sql_files.run(connection, keep, about)
    connection.unregister("given")
    connection.execute(sql_files.statement("sql", TABLE))
