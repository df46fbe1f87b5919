"""What a charger reported by itself around the failure of a case.

The window and the choice between cases are those of `cases` in the published tables.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ingest import store, stored

# Only cases of the same unit are looked at: its few, not those of the fleet.
_EVENTS_OF_CASE = """
WITH cases AS (
    SELECT
        repair.case_id,
        repair.serial,
        repair.received_on,
        coalesce(
            repair.failed_on,
            repair.received_on - coalesce(
                list_extract(
                    CAST($lag_days AS INTEGER[]),
                    list_position(CAST($models AS VARCHAR[]), unit.model)
                ),
                0
            )
        ) AS failure_day
    FROM repairs AS repair
    LEFT JOIN units AS unit ON repair.serial = unit.serial
    WHERE repair.serial = (SELECT serial FROM repairs WHERE case_id = $case_id)
),

events AS (
    SELECT cases.case_id, status.*
    FROM cases
    INNER JOIN status ON cases.serial = status.serial
    WHERE
        CAST(status.happened_at AS DATE)
        BETWEEN cases.failure_day - 30 AND cases.received_on
    QUALIFY
        row_number() OVER (
            PARTITION BY status.received_at, status.message_id
            ORDER BY cases.received_on, cases.case_id
        ) = 1
)

SELECT happened_at, received_at, action, words, message
FROM events
WHERE case_id = $case_id
ORDER BY happened_at, received_at, message_id
"""


def charger_events(
    store_file: Path,
    case_id: str,
    *,
    lag_days_of_model: Mapping[str, int],
    wait_s: float = 0,
) -> tuple[dict[str, Any], ...]:
    """Return the status events of a case, oldest first.

    Parameters
    ----------
    store_file : Path
    case_id : str
        Of a case that is not there no event is known.
    lag_days_of_model : mapping of str to int
        Days from failure to receipt, for cases without `failed_on`.
    wait_s : float, default 0
        Seconds to wait for another that writes the store.

    Returns
    -------
    tuple of dict
        Each with happened_at, received_at, action, words and message.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    with store.open_for_reading(store_file, wait_s=wait_s) as connection:
        found = stored.ask(
            connection,
            _EVENTS_OF_CASE,
            case_id=case_id.strip(),
            models=list(lag_days_of_model),
            lag_days=list(lag_days_of_model.values()),
        )
    return tuple(found)
