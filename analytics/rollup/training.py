"""The fault suggester is trained when a snapshot is published, if it is due.

Training again is due when there is no earlier one that fits, when the confirmed cases
grew by 5 %, or when a day has passed; `publish --train` asks for it. It learns from the
newest 50 000 confirmed cases.
"""

import datetime as dt
import json
from dataclasses import dataclass
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd

from analytics.advice.expert_table import default_expert_table
from analytics.advice.label_support import weight_of
from analytics.advice.suggest import FaultSuggester
from analytics.rollup import sql_files

MOST_CASES = 50_000  # the newest; more take long and add little
GROWTH = 1.05
LONGEST = dt.timedelta(days=1)
NOTE = "trained.json"
SEED = 1  # the same cases give the same suggester


@dataclass(frozen=True, slots=True)
class Training:
    """Which suggester goes with a snapshot.

    Attributes
    ----------
    folder : str
        Name of its folder beside the snapshots.
    is_new : bool
        Whether it was trained now.
    """

    folder: str
    is_new: bool


def train_if_due(
    connection: duckdb.DuckDBPyConnection,
    published: Path,
    *,
    snapshot: str,
    as_of: dt.date,
    force: bool,
) -> Training:
    """Train the fault suggester on the confirmed cases, or keep the last one.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds the tables `evidence` and `label_support`.
    published : Path
        Folder of the snapshots.
    snapshot : str
        Id of the snapshot being made.
    as_of : datetime.date
        Labels confirmed later are not used.
    force : bool
        Train even if the last one would do.

    Returns
    -------
    Training
    """
    counted = connection.execute(sql_files.statement("questions", "n_confirmed"))
    n_labelled = int((counted.fetchone() or (0,))[0])
    last = _last_fitting(published, as_of=as_of, n_labelled=n_labelled)
    if last and not force:
        return Training(last, is_new=False)
    evidence = sql_files.statement("questions", "newest_evidence")
    cases = sql_files.run(connection, evidence, {"most": MOST_CASES}).df()
    folder = folder_of(snapshot)
    suggester = FaultSuggester.fit(
        cases.drop(columns=["mode", "support"]),
        [mode if isinstance(mode, str) else None for mode in cases["mode"]],
        as_of=as_of,
        expert_table=default_expert_table(),
        weight=weight_of(cases["support"]),
        rng=np.random.default_rng(SEED),
    )
    suggester.save(published / folder)
    note = {
        "as_of": as_of.isoformat(),
        "n_labelled": n_labelled,
        "trained_at": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
    }
    (published / folder / NOTE).write_text(json.dumps(note), encoding="utf-8")
    return Training(folder, is_new=True)


def folder_of(snapshot: str) -> str:
    """Return the name of the folder of the suggester trained on some figures."""
    return f"suggester-{snapshot}"


def _last_fitting(published: Path, *, as_of: dt.date, n_labelled: int) -> str | None:
    now = pd.Timestamp.now(tz="UTC")
    notes = [
        (json.loads(file.read_text(encoding="utf-8")), file.parent.name)
        for file in published.glob(f"suggester-*/{NOTE}")
    ]
    for note, folder in sorted(notes, key=lambda n: str(n[0]["trained_at"])):
        is_recent = now - pd.Timestamp(note["trained_at"]) < LONGEST
        # A suggester that has seen later cases would know the answers beforehand.
        has_not_seen_later = dt.date.fromisoformat(note["as_of"]) <= as_of
        if (
            is_recent
            and has_not_seen_later
            and note["n_labelled"] <= n_labelled <= GROWTH * note["n_labelled"]
        ):
            return folder
    return None
