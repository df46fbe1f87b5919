"""How many fail by which mode when any failure ends the life."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.counts import Counts, Floats, normal_quantile, risk_table

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
        Arrays that do not fit each other, or a negative count.

    Notes
    -----
    F_j(t) = sum over u <= t of S(u-) d_j / n, with S of all modes together. Aalen's
    variance (Aalen 1978) sums, over the ages u <= t and the modes i,

        [S(u-) (1{i = j} - (F_j(t) - F_j(u)) / S(u))]^2 d_i (n - d_i) / (n^2 (n - 1))

    Checked against two published data sets: tests/published/test_incidence_bmt.py
    and test_incidence_mgus.py.
    """
    if np.ndim(n_failed_by_mode) != N_DIMENSIONS:
        raise ValueError("n_failed_by_mode must have shape (ages, modes)")
    z = normal_quantile(confidence)
    table = risk_table(
        age, n_failed_by_mode, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    n = np.maximum(table.n_at_risk, 1).astype(np.float64)
    survival = np.cumprod(1 - table.n_failed.sum(axis=1) / n)
    before = np.concatenate([[1.0], survival[:-1]])
    incidence = np.cumsum(before[:, None] * table.n_failed / n[:, None], axis=0)
    error = np.sqrt(_variance(table.n_failed, n, survival, before, incidence))
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


def _variance(
    failed: Counts, n: Floats, survival: Floats, before: Floats, incidence: Floats
) -> Floats:
    # With q = 1 / S(u), the square is (own + q F(u) - q F(t))^2: three running sums
    # give it at every t. Where S(u) = 0 nothing happens later, and q is taken as 0.
    d = failed.astype(np.float64)
    spread = (n[:, None] - d) / np.maximum(n - 1, 1)[:, None]
    step = np.where(d > 1, spread, 1.0) * d * (before / n)[:, None] ** 2
    q = np.where(survival > 0, 1 / np.where(survival > 0, survival, 1), 0)[:, None]
    total = np.zeros_like(incidence)
    for mode in range(d.shape[1]):
        own = np.zeros(d.shape[1])
        own[mode] = 1
        reach = own + q * incidence[:, mode, None]
        squares = np.cumsum((reach**2 * step).sum(axis=1))
        mixed = np.cumsum((q * reach * step).sum(axis=1))
        slopes = np.cumsum((q**2 * step).sum(axis=1))
        now = incidence[:, mode]
        total[:, mode] = squares - 2 * now * mixed + now**2 * slopes
    return np.maximum(total, 0)  # a difference of sums may round below 0


def _limits(incidence: Floats, error: Floats, z: float) -> tuple[Floats, Floats]:
    inside = (incidence > 0) & (incidence < 1 - ROUNDING)
    left = np.where(inside, 1 - incidence, 0.5)
    factor = np.exp(z * np.where(inside, error, 0) / (left * -np.log(left)))
    other = np.where(incidence > 0, np.nan, 0.0)
    return (
        np.where(inside, 1 - left ** (1 / factor), other),
        np.where(inside, 1 - left**factor, other),
    )
