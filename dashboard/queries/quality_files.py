"""What happened to the rows of every file, and the problems they had."""

from collections.abc import Sequence
from typing import cast

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.queries.answer import Row, rows_of
from dashboard.queries.quality_words import NOTICES, what_to_do

OF_FILE = ["batch", "file", "kind", "started_at"]
COUNTS = ["n_read", "n_accepted", "n_unchanged", "n_replaced", "n_rejected"]
ONE_PROBLEM = ["kind", "field", "code"]


def files(snapshot: Snapshot) -> list[Row]:
    """Return each file with its counts and the share of its rows set aside."""
    found = snapshot.ask("intake_quality")
    return _with_shares(found[OF_FILE + COUNTS].drop_duplicates("batch"))


def total(of_files: Sequence[Row]) -> Row:
    """Return the counts of all files together, and the share set aside."""
    sums: Row = {"n_files": len(of_files)}
    sums |= {name: sum(cast("int", row[name]) for row in of_files) for name in COUNTS}
    return _with_shares(pd.DataFrame([sums]))[0]


def problem_rows(snapshot: Snapshot) -> list[Row]:
    """Return how many rows of each file had which problem or notice."""
    found = snapshot.ask("intake_quality")
    problems = found.loc[
        found["code"].notna(), ["batch", "file", "kind", "field", "code", "n_rows"]
    ].astype({"n_rows": "int64"})
    return [row | _words(str(row["code"])) for row in rows_of(problems)]


def top_problems(snapshot: Snapshot, rows: Sequence[Row]) -> list[Row]:
    """Return problems and notices over all files, most rows first, with examples.

    Parameters
    ----------
    snapshot : Snapshot
    rows : sequence of dict
        As `problem_rows` gives them.
    """
    examples: dict[tuple[object, ...], list[Row]] = {}
    for example in rows_of(snapshot.ask("rejected_examples")):
        key = tuple(example.pop(name) for name in ONE_PROBLEM)
        del example["example_no"]
        examples.setdefault(key, []).append(example)
    together: dict[tuple[object, ...], Row] = {}
    for row in rows:
        key = tuple(row[name] for name in ONE_PROBLEM)
        problem = together.setdefault(
            key,
            {name: row[name] for name in ONE_PROBLEM}
            | {"n_rows": 0, "n_files": 0}
            | _words(str(row["code"]))
            | {"examples": examples.get(key, [])},
        )
        problem["n_rows"] = cast("int", problem["n_rows"]) + cast("int", row["n_rows"])
        problem["n_files"] = cast("int", problem["n_files"]) + 1
    return sorted(
        together.values(),
        key=lambda row: (
            -cast("int", row["n_rows"]),
            *(str(row[n]) for n in ONE_PROBLEM),
        ),
    )


def flat_problems(problems: Sequence[Row]) -> list[Row]:
    """Return the problems for which rows were set aside, without their examples."""
    return [
        {name: value for name, value in row.items() if name != "examples"}
        for row in problems
        if not row["is_notice"]
    ]


def example_rows(problems: Sequence[Row]) -> list[Row]:
    """Return the examples of all problems as one flat table."""
    return [
        {name: problem[name] for name in (*ONE_PROBLEM, "n_rows", "what_to_do")}
        | example
        for problem in problems
        for example in cast("Sequence[Row]", problem["examples"])
    ]


def _words(code: str) -> Row:
    return {"is_notice": code in NOTICES, "what_to_do": what_to_do(code)}


def _with_shares(frame: pd.DataFrame) -> list[Row]:
    n_read = frame["n_read"].to_numpy(dtype=np.int64)
    n_aside = frame["n_rejected"].to_numpy(dtype=np.int64)
    low, high = binomial_interval(n_aside, n_read)
    shares = {
        "share_rejected": n_aside / np.maximum(n_read, 1),
        "low": low,
        "high": high,
    }
    # A file without rows has no share.
    return rows_of(
        frame.assign(**{n: np.where(n_read > 0, v, np.nan) for n, v in shares.items()})
    )
