"""What was suggested for cases that were open, as it was first given.

The first suggestion for a case stays: only so can it be held against the cause
confirmed later. Taking files back leaves it alone, and it then belongs to no case; the
files taken in once more find it again. It holds no serial and no words of a person.
"""

import datetime as dt
from pathlib import Path

import pyarrow as pa

from ingest import store

_FIELDS: tuple[tuple[str, pa.DataType], ...] = (
    ("case_id", pa.string()),
    ("is_enough", pa.bool_()),
    ("modes", pa.list_(pa.string())),
    ("probabilities", pa.list_(pa.float64())),
)
GIVEN = pa.schema(_FIELDS)
# Looked at once more: a cause may have been taken in since the figures were made.
KEEP = """
INSERT INTO suggestions
SELECT case_id, $given_on, $snapshot, $suggester, $n_cases, is_enough, modes,
    probabilities
FROM given
WHERE case_id NOT IN (
    SELECT case_id FROM repair_versions WHERE confirmed_mode IS NOT NULL
)
ON CONFLICT DO NOTHING
RETURNING case_id
"""


def record_suggestions(
    store_file: Path,
    given: pa.Table,
    *,
    snapshot: str,
    suggester: str,
    n_cases: int,
    given_on: dt.datetime,
    wait_s: float = 0,
) -> int:
    """Keep suggestions for cases that have none yet; return how many were new.

    Parameters
    ----------
    store_file : pathlib.Path
    given : pyarrow.Table
        Columns as `GIVEN`, one row for each case. Cases whose cause was confirmed
        at any time are passed over.
    snapshot, suggester : str
        Id of the figures, and name of the folder of the suggester.
    n_cases : int
        Confirmed cases that the suggester had learned from.
    given_on : datetime.datetime
        UTC.
    wait_s : float, default 0
        Seconds to wait for another that has the store open.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError, DiskError
        The store cannot be written; nothing was kept.
    """
    store.demand(store_file)
    about = {
        "given_on": given_on,
        "snapshot": snapshot,
        "suggester": suggester,
        "n_cases": n_cases,
    }
    with (
        store.open_for_writing(store_file, wait_s=wait_s) as connection,
        store.explaining(store_file),
        store.transaction(connection),
    ):
        connection.register("given", given)
        kept = connection.execute(KEEP, about).fetchall()
        connection.unregister("given")
    return len(kept)
