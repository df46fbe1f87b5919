"""How often units fail at which age: failures over exposure, piece by piece."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.counts import (
    Counts,
    Floats,
    checked_ages,
    checked_counts,
    checked_entries,
    curve_table,
)
from analytics.statistics.intervals import poisson_interval

MIN_EDGES = 2


@dataclass(frozen=True, slots=True, eq=False)
class HazardByAge:
    """Failures per unit of age, in pieces of age (from_age, to_age]."""

    from_age: Floats
    to_age: Floats
    n_failed: Counts
    exposure: Floats  # units x age: the time that units spent in the piece, in view
    rate: Floats  # nan where nobody was in view
    low: Floats  # 0 there
    high: Floats  # inf there
    confidence: float


def hazard_by_age(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    edges: ArrayLike,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    confidence: float = 0.95,
) -> HazardByAge:
    """Estimate the failure rate in pieces of age.

    Parameters
    ----------
    age, n_failed, n_censored, entry_age, n_entered
        As for `kaplan_meier`.
    edges : array of float, shape (p + 1,)
        Where pieces end and the next begin, ascending. A failure on an edge belongs to
        the piece that ends there; at age 0 to the piece that begins there.
    confidence : float, default 0.95

    Returns
    -------
    HazardByAge
        p pieces. Failures and exposure outside the edges are in none.

    Raises
    ------
    InsufficientDataError
        No unit at all.
    ValueError
        As `kaplan_meier`; fewer than two edges, edges that do not ascend.

    Notes
    -----
    The rate is failures over exposure, the most likely one if it is the same throughout
    the piece. Limits are exact for a Poisson count (Garwood 1936): they take the
    exposure as fixed. A unit adds what its time in view, from entry to end, has in
    common with the piece.
    """
    ends = checked_ages("edges", edges)
    if len(ends) < MIN_EDGES or not (np.diff(ends) > 0).all():
        raise ValueError(f"edges must be at least 2 and ascend, got {ends.tolist()}")
    distinct, n_at_age, _ = curve_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    ages = checked_ages("age", age)
    failed = checked_counts("n_failed", n_failed, ages.shape)
    ending = failed + checked_counts("n_censored", n_censored, ages.shape)
    exposure = _time_within(ends, ages, ending, checked_entries(entry_age, n_entered))
    n_so_far = np.append(0, np.cumsum(n_at_age))
    n_by_edge = n_so_far[np.searchsorted(distinct, ends, side="right")]
    if ends[0] == 0:
        n_by_edge[0] = 0
    n_in_piece = np.diff(n_by_edge)
    known = exposure > 0
    low, high = poisson_interval(
        np.where(known, n_in_piece, 0), exposure, confidence=confidence
    )
    rate = np.where(known, n_in_piece / np.where(known, exposure, 1), np.nan)
    return HazardByAge(
        from_age=ends[:-1],
        to_age=ends[1:],
        n_failed=n_in_piece,
        exposure=exposure,
        rate=rate,
        low=low,
        high=high,
        confidence=confidence,
    )


def _time_within(
    ends: Floats, ages: Floats, ending: Counts, entries: tuple[Floats, Counts] | None
) -> Floats:
    n_through, within = _parts(ends, ages, ending)
    if entries is not None:
        n_before, early = _parts(ends, *entries)
        n_through, within = n_through - n_before, within - early
    # Whole units times the width: nobody in view gives 0, not the rest of a rounding.
    return np.maximum(n_through * np.diff(ends) + within, 0)


def _parts(ends: Floats, ages: Floats, n: Counts) -> tuple[Counts, Floats]:
    """Return per piece how many ages lie beyond it, and the sum of those within."""
    order = np.argsort(ages, kind="stable")
    ages, n = ages[order], n[order]
    n_so_far = np.append(0, np.cumsum(n))
    place = np.searchsorted(ages, ends, side="left")
    piece = np.searchsorted(ends, ages, side="right") - 1
    inside = (piece >= 0) & (piece < len(ends) - 1)
    within = np.zeros(len(ends) - 1)
    since = ages[inside] - ends[piece[inside]]
    np.add.at(within, piece[inside], n[inside] * since)
    return n_so_far[-1] - n_so_far[place[1:]], within
