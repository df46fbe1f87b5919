"""Counts at ages: checked, added up at equal ages, and turned into numbers at risk.

Order at one age: failures come before censorings (the convention of Kaplan and Meier,
1958). A unit that enters at an age above 0 is at risk right after that age; a unit seen
from new is at risk at age 0 too.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from analytics.errors import InsufficientDataError

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]
Bools = NDArray[np.bool_]

LARGEST_COUNT = 2.0**53  # beyond, floats skip whole numbers


@dataclass(frozen=True, slots=True)
class RiskTable:
    """Failures and numbers at risk at distinct ages, ascending."""

    age: Floats  # (k,)
    n_failed: Counts  # (k, m): one column per mode or group
    n_at_risk: Counts  # (k,)


def checked_ages(name: str, values: ArrayLike) -> Floats:
    """Return ages as floats, shape (k,); ValueError unless finite and not negative."""
    ages = np.asarray(values, dtype=np.float64)
    if ages.ndim != 1:
        raise ValueError(f"{name} must have one dimension, got shape {ages.shape}")
    wrong = ~(np.isfinite(ages) & (ages >= 0))
    if wrong.any():
        raise ValueError(
            f"{name} must be finite and not negative, got {ages[wrong][0]}"
        )
    return ages


def checked_counts(
    name: str, values: ArrayLike | None, shape: tuple[int, ...]
) -> Counts:
    """Return whole counts of that shape; left out (None) means 1 per entry."""
    if values is None:
        return np.ones(shape, dtype=np.int64)
    counts = np.asarray(values, dtype=np.float64)
    if counts.shape != shape:
        raise ValueError(f"{name} must have shape {shape}, got {counts.shape}")
    wrong = ~(np.isfinite(counts) & (counts >= 0) & (counts == np.floor(counts)))
    if wrong.any():
        raise ValueError(
            f"{name} must be whole and not negative, got {counts[wrong][0]}"
        )
    if (counts > LARGEST_COUNT).any():
        raise ValueError(f"{name} must not exceed 2^53, got {counts.max()}")
    return counts.astype(np.int64)


def checked_entries(
    entry_age: ArrayLike | None, n_entered: ArrayLike | None
) -> tuple[Floats, Counts] | None:
    """Return where units come into view; None where all are seen from new."""
    if entry_age is None:
        if n_entered is not None:
            raise ValueError("n_entered was given without entry_age")
        return None
    ages = checked_ages("entry_age", entry_age)
    return ages, checked_counts("n_entered", n_entered, ages.shape)


def normal_quantile(confidence: float) -> float:
    """Return z with P(|Z| <= z) = confidence for a standard normal Z."""
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must be between 0 and 1, got {confidence}")
    return float(-special.ndtri((1 - confidence) / 2))


def risk_table(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
) -> RiskTable:
    """Return failures and numbers at risk at each distinct age.

    Parameters
    ----------
    age : array of float, shape (k,)
        Any order, repeated ages add up.
    n_failed : array of int, shape (k,) or (k, m)
    n_censored : array of int, shape (k,)
    entry_age, n_entered : array, shape (j,), optional
        How many units come into view at which age; together they account for every
        unit.

    Returns
    -------
    RiskTable

    Raises
    ------
    InsufficientDataError
        No unit at all.
    ValueError
        Arrays of different length, a negative or broken count, entries that do not
        account for the units.
    """
    ages = checked_ages("age", age)
    by_mode = np.asarray(n_failed)
    columns = by_mode.shape[1:] if by_mode.ndim > 1 else ()
    failed = checked_counts("n_failed", n_failed, (*ages.shape, *columns))
    failed = failed.reshape(len(ages), int(np.prod(columns, dtype=np.int64)))
    censored = checked_counts("n_censored", n_censored, ages.shape)
    if not failed.sum() + censored.sum():
        raise InsufficientDataError("units", needed=1, found=0)
    distinct, where = np.unique(ages, return_inverse=True)
    n_failed_at = np.zeros((len(distinct), failed.shape[1]), dtype=np.int64)
    np.add.at(n_failed_at, where, failed)
    n_left = n_failed_at.sum(axis=1)
    np.add.at(n_left, where, censored)
    entries = checked_entries(entry_age, n_entered)
    at_risk = _at_risk(distinct, n_left, entries)
    if (n_failed_at.sum(axis=1) > at_risk).any():
        first = distinct[n_failed_at.sum(axis=1) > at_risk][0]
        raise ValueError(f"more units fail at age {first} than are at risk there")
    return RiskTable(age=distinct, n_failed=n_failed_at, n_at_risk=at_risk)


def curve_table(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
) -> tuple[Floats, Counts, Counts]:
    """Return distinct ages, failures and numbers at risk, for failures of one kind.

    Parameters and errors as `risk_table`, but for failures of several columns: a
    ValueError, lest modes or groups are added up unasked.
    """
    checked_counts("n_failed", n_failed, checked_ages("age", age).shape)
    table = risk_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    return table.age, table.n_failed[:, 0], table.n_at_risk


def _at_risk(
    distinct: Floats, n_left: Counts, entries: tuple[Floats, Counts] | None
) -> Counts:
    left_before = np.cumsum(n_left) - n_left
    total = int(n_left.sum())
    if entries is None:
        return np.asarray(total - left_before, dtype=np.int64)
    ages, entered = entries
    if entered.sum() != total:
        raise ValueError(
            f"n_entered accounts for {entered.sum()} units, "
            f"n_failed and n_censored for {total}"
        )
    order = np.argsort(ages, kind="stable")
    n_so_far = np.concatenate([[0], np.cumsum(entered[order])])
    # Entered before this age; a unit seen from new is at risk at age 0 too.
    n_new = int(entered[ages == 0].sum())
    n_before = n_so_far[np.searchsorted(ages[order], distinct, side="left")]
    n_up_to = n_so_far[np.searchsorted(ages[order], distinct, side="right")]
    if (n_up_to < np.cumsum(n_left)).any():
        first = distinct[n_up_to < np.cumsum(n_left)][0]
        raise ValueError(f"more units have left by age {first} than have entered")
    return np.asarray(np.maximum(n_before, n_new) - left_before, dtype=np.int64)
