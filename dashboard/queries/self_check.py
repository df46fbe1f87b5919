"""Whether the store and the figures shown are whole."""

from dataclasses import asdict

from analytics.rollup.published_files import pointer_fault
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.settings import Place
from ingest import store
from ingest.errors import FileError
from ingest.upkeep.self_check import self_check as checked

METHOD = (
    "Every table of the store is read and counted; a fault is what no use of the "
    "program can bring about."
)


def self_check(place: Place) -> Answer:
    """Return what was looked at in the store and the published figures.

    Parameters
    ----------
    place : Place

    Returns
    -------
    Answer
        Rows: check, n, is_fault, message. More: n_faults.

    Raises
    ------
    NoStoreError, StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    fault = pointer_fault(place.published)
    words = fault or "The figures shown can be read, or none are published."
    rows: list[Row] = [asdict(finding) for finding in checked(place.store)]
    rows.append(
        {
            "check": "pointer",
            "n": int(fault is not None),
            "is_fault": fault is not None,
            "message": words,
        }
    )
    return Answer(
        about=None,
        filters=Filters(),
        method=METHOD,
        rows=rows,
        more={"n_faults": sum(bool(row["is_fault"]) for row in rows)},
        invented=_is_invented(place),
    )


def _is_invented(place: Place) -> bool:
    try:
        return store.origin(place.store, wait_s=place.wait_s) == "invented"
    except FileError:  # damaged, which the rows say
        return False
