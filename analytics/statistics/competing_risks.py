"""How many fail by which mode when any failure ends the life."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.counts import (
    Counts,
    Floats,
    checked_counts,
    normal_quantile,
    risk_table,
)
from analytics.statistics.life import SurvivalCurve, kaplan_meier

N_DIMENSIONS = 2  # ages by modes
# A sum of shares that is 1 may miss it by some units of the last place.
ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class CumulativeIncidence:
    """Aalen-Johansen estimate: fraction failed by each mode, other modes included."""

    age: Floats  # (k,)
    incidence: Floats  # (k, m); with survival, a row sums to 1
    standard_error: Floats  # (k, m), Aalen's variance
    low: Floats  # (k, m)
    high: Floats  # (k, m)
    survival: Floats  # (k,): no failure of any mode yet
    n_at_risk: Counts  # (k,)
    confidence: float


def cumulative_incidence(
    age: ArrayLike,
    n_failed_by_mode: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    confidence: float = 0.95,
) -> CumulativeIncidence:
    """Estimate the incidence of each failure mode from counts.

    Parameters
    ----------
    age : array of float, shape (k,)
        Not negative, any order; repeated ages add up.
    n_failed_by_mode : array of int, shape (k, m)
        Failures at each age, one column per mode.
    n_censored : array of int, shape (k,)
    entry_age, n_entered : array, shape (j,), optional
        Delayed entry, as for `kaplan_meier`.
    confidence : float, default 0.95

    Returns
    -------
    CumulativeIncidence
        `standard_error` is the root of Aalen's variance. The limits are symmetric in
        ln(-ln(1 - incidence)), so they lie within [0, 1] and go together with the
        log-log limits of survival; they are 0 before the first failure of the mode
        and nan where the incidence is 1.

    Raises
    ------
    InsufficientDataError
        No unit at all.
    ValueError
        Arrays that do not fit each other, no mode, a negative count, entries that do
        not account for the units, more units that have left by an age than have
        entered, a confidence that is not between 0 and 1.

    Notes
    -----
    F_j(t) = sum over u <= t of S(u-) d_j / n, with S of all modes together. Aalen's
    variance (Aalen 1978) sums over the ages u <= t

        [S(u-) (1{own} - (F_j(t) - F_j(u)) / S(u))]^2 d (n - d) / (n^2 (n - 1))

    once for the d failures by mode j (own) and once for those by all other modes taken
    together: how the others are told apart changes nothing for j.

    Checked against tests/published/test_incidence_bmt.py, test_incidence_mgus.py and
    test_incidence_hand.py.
    """
    _n_modes(n_failed_by_mode)
    z = normal_quantile(confidence)
    table = risk_table(
        age, n_failed_by_mode, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    n = np.maximum(table.n_at_risk, 1).astype(np.float64)
    survival = np.cumprod(1 - table.n_failed.sum(axis=1) / n)
    before = np.concatenate([[1.0], survival[:-1]])
    steps = before[:, None] * table.n_failed / n[:, None]
    incidence = np.cumsum(steps, axis=0)
    error = np.sqrt(_variance(table.n_failed, n, survival, before, steps))
    low, high = _limits(incidence, error, z)
    return CumulativeIncidence(
        age=table.age,
        incidence=incidence,
        standard_error=error,
        low=low,
        high=high,
        survival=survival,
        n_at_risk=table.n_at_risk,
        confidence=confidence,
    )


def survival_without(
    age: ArrayLike,
    n_failed_by_mode: ArrayLike,
    n_censored: ArrayLike,
    *,
    column: int,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    confidence: float = 0.95,
) -> SurvivalCurve:
    """Estimate what would survive if one mode did not exist.

    That takes the mode to be independent of the others: that units which failed by it
    would else have lived like those that did not. The data cannot show this. Say so
    beside the curve.

    Parameters
    ----------
    age : array of float, shape (k,)
        Not negative, any order; repeated ages add up.
    n_failed_by_mode : array of int, shape (k, m)
        Failures at each age, one column per mode.
    n_censored : array of int, shape (k,)
    column : int
        The mode taken away, from 0 to m - 1.
    entry_age, n_entered : array, shape (j,), optional
        Delayed entry, as for `kaplan_meier`.
    confidence : float, default 0.95

    Returns
    -------
    SurvivalCurve
        Kaplan-Meier with log-log limits, failures of that mode taken as censorings.

    Raises
    ------
    InsufficientDataError
        No unit at all.
    ValueError
        As for `cumulative_incidence`; a column that is not there.

    Notes
    -----
    The limits know of the count, not of the assumption. Checked against the marrow
    transplant data: tests/published/test_incidence_bmt.py.
    """
    n_modes = _n_modes(n_failed_by_mode)
    if column not in range(n_modes):
        raise ValueError(f"column must be from 0 to {n_modes - 1}, got {column}")
    # All modes are checked first: a negative count could hide in a sum of two.
    risk_table(
        age, n_failed_by_mode, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    failed = np.asarray(n_failed_by_mode, dtype=np.int64)
    censored = checked_counts("n_censored", n_censored, failed.shape[:1])
    away = int(column)
    return kaplan_meier(
        age,
        np.delete(failed, away, axis=1).sum(axis=1),
        censored + failed[:, away],
        entry_age=entry_age,
        n_entered=n_entered,
        confidence=confidence,
    )


def _n_modes(n_failed_by_mode: ArrayLike) -> int:
    shape = np.shape(n_failed_by_mode)
    if len(shape) != N_DIMENSIONS or not shape[1]:
        raise ValueError(
            f"n_failed_by_mode must have shape (ages, modes), modes >= 1, got {shape}"
        )
    return int(shape[1])


def _variance(
    failed: Counts, n: Floats, survival: Floats, before: Floats, steps: Floats
) -> Floats:
    # With q = 1 / S(u) and R the incidence still to come, F(t) - F(u) = R(u) - R(t),
    # the squares are (1 - q R(u) + q R(t))^2 for the mode itself and
    # (q R(u) - q R(t))^2 for the others: three running sums give them at every t.
    # R <= S keeps the digits where nearly all have failed; F would lose them there.
    # Where S(u) = 0 nothing happens later, and q is taken as 0.
    scale = (before / n)[:, None] ** 2
    own = scale * _tied(failed, n)
    others = scale * _tied(failed.sum(axis=1, keepdims=True) - failed, n)
    q = np.where(survival > 0, 1 / np.where(survival > 0, survival, 1), 0)[:, None]
    to_come = np.cumsum(np.append(steps, 0 * steps[:1], axis=0)[:0:-1], axis=0)[::-1]
    share = q * to_come
    squares = np.cumsum((1 - share) ** 2 * own + share**2 * others, axis=0)
    mixed = np.cumsum(q * ((1 - share) * own - share * others), axis=0)
    slopes = np.cumsum(q**2 * (own + others), axis=0)
    total: Floats = squares + 2 * to_come * mixed + to_come**2 * slopes
    return np.maximum(total, 0)  # a difference of sums may round below 0


def _tied(failed: Counts, n: Floats) -> Floats:
    """Return failures, fewer where several fall on one age."""
    d = failed.astype(np.float64)
    spread = (n[:, None] - d) / np.maximum(n - 1, 1)[:, None]
    return np.where(d > 1, spread, 1.0) * d


def _limits(incidence: Floats, error: Floats, z: float) -> tuple[Floats, Floats]:
    inside = (incidence > 0) & (incidence < 1 - ROUNDING)
    # ln(1 - incidence) and back by log1p and expm1: a tiny incidence keeps its digits.
    log_left = np.log1p(-np.where(inside, incidence, 0.5))
    reach = z * np.where(inside, error, 0) / (np.exp(log_left) * -log_left)
    with np.errstate(over="ignore"):
        factor = np.exp(reach)  # inf: from 0 to 1
    other = np.where(incidence > 0, np.nan, 0.0)
    return (
        np.where(inside, -np.expm1(log_left / factor), other),
        np.where(inside, -np.expm1(log_left * factor), other),
    )
