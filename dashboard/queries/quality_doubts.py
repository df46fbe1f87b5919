"""What the data themselves make one ask: about the register, and about the term."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval, rate_ratio
from dashboard.queries.answer import Row, rows_of

SUSPICIOUS_RATIO = 0.7  # of the failure rates after and before the end of the term
REMEMBERED = 4  # snapshots; what one says never changes
MAINLY = 0.8  # from here on a register holds mainly returned units

MAINLY_RETURNED = (
    "The register holds mainly returned units: no time to failure can be estimated "
    "from it. Take in every unit sold, returned or not."
)
LATER_FAILURES = (
    "Are failures after the end of the warranty reported to you? If not, set "
    "`failures_seen` to `in_warranty`: until then lives look longer than they are."
)

CONTRADICTED = (
    "Look over the cases whose confirmed mode a reading speaks against, listed below:"
)


@dataclass(frozen=True, slots=True)
class _Register:
    n_units: int
    n_returned: int
    n_dated_returned: int
    n_registered_by_return: int
    n_no_dates: int
    n_estimated_start: int


@lru_cache(maxsize=REMEMBERED)
def term_end(snapshot: Snapshot) -> Row:
    """Return whether failures after the end of the term seem to be reported.

    Returns
    -------
    dict
        state: "assumed" (the settings say that only failures in warranty are seen),
        "no_units" (no unit was followed past its term), "asked" (the interval of the
        ratio lies below 0.7), "no_reason" (it lies above), "not_shown" (neither);
        ratio of the failure rate in the 90 days after to that before, low, high,
        n_before, n_after, days_before, days_after (unit-days), n_units (followed past
        their term).
    """
    counted = snapshot.ask("quality_term_end").iloc[0]
    row: Row = {str(name): int(value) for name, value in counted.items()}
    row |= {"ratio": None, "low": None, "high": None}
    if snapshot.about.failures_seen == "in_warranty":
        return {"state": "assumed"} | row
    n_before, n_after = int(counted["n_before"]), int(counted["n_after"])
    days_before, days_after = int(counted["days_before"]), int(counted["days_after"])
    if not (days_before and days_after):
        return {"state": "no_units"} | row
    found = rate_ratio(n_after, days_after, n_before, days_before)
    state = "not_shown"
    if found.high < SUSPICIOUS_RATIO:
        state = "asked"
    elif found.low >= SUSPICIOUS_RATIO:
        state = "no_reason"
    return (
        {"state": state}
        | row
        | {
            "ratio": _finite(found.ratio),
            "low": _finite(found.low),
            "high": _finite(found.high),
        }
    )


@lru_cache(maxsize=REMEMBERED)
def register(snapshot: Snapshot) -> Row:
    """Return what the register says of itself.

    Returns
    -------
    dict
        n_units, n_returned (units with a case), share_returned, n_dated_returned
        (of these, with a day of registration), n_registered_by_return (of these,
        registered on or after the first failure), is_mainly_returned (over 80 % of
        the units returned, or surely over 80 % registered by their return: no life
        estimate is sound), n_no_dates (neither shipped
        nor in service), n_estimated_start.
    """
    counted = snapshot.ask("quality_register").iloc[0]
    found = _Register(**{str(name): int(value) for name, value in counted.items()})
    is_mainly = found.n_returned > MAINLY * found.n_units or _surely_mainly(
        found.n_registered_by_return, found.n_dated_returned
    )
    return {
        "n_units": found.n_units,
        "n_returned": found.n_returned,
        "share_returned": found.n_returned / found.n_units if found.n_units else None,
        "n_dated_returned": found.n_dated_returned,
        "n_registered_by_return": found.n_registered_by_return,
        "is_mainly_returned": is_mainly,
        "n_no_dates": found.n_no_dates,
        "n_estimated_start": found.n_estimated_start,
    }


def _surely_mainly(n_events: int, n_trials: int) -> bool:
    # One late entry of a single return says nothing of how the register was filled.
    if not n_trials:
        return False
    low, _ = binomial_interval(n_events, n_trials, method="clopper-pearson")
    return bool(low > MAINLY)


def asked(of_register: Row, of_term_end: Row, *, n_contradicted: int) -> list[str]:
    """Return what a person should look at, a sentence each.

    Parameters
    ----------
    of_register, of_term_end : dict
        As `register` and `term_end` give them.
    n_contradicted : int
        Confirmed modes that a reading speaks against.
    """
    is_asked = {
        MAINLY_RETURNED: of_register["is_mainly_returned"],
        LATER_FAILURES: of_term_end["state"] == "asked",
        f"{CONTRADICTED} {n_contradicted}.": n_contradicted > 0,
    }
    return [sentence for sentence, holds in is_asked.items() if holds]


def waiting(snapshot: Snapshot) -> list[Row]:
    """Return the records kept that name a unit or case not known, by kind."""
    return rows_of(snapshot.ask("waiting"))


def left_out_units(snapshot: Snapshot) -> list[Row]:
    """Return the units that tell nothing about time to failure, and why."""
    return rows_of(snapshot.ask("left_out_serials"))


def _finite(value: object) -> float | None:
    number = float(np.asarray(value))
    return number if np.isfinite(number) else None
