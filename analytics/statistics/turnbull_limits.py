"""Limits of survival estimated from brackets, by drawing the units anew."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Floats,
    checked_ages,
    checked_counts,
    normal_quantile,
)
from analytics.statistics.turnbull import checked_brackets, interval_censored

# Drawn anew, fewer failures give limits that are too narrow.
MIN_FAILED = 10


@dataclass(frozen=True, slots=True, eq=False)
class BracketLimits:
    """Limits of survival at given ages; they hold what the data leave open too."""

    age: Floats
    low: Floats
    high: Floats
    n_units: int
    n_draws: int
    confidence: float


def interval_censored_limits(
    lower: ArrayLike,
    upper: ArrayLike,
    *,
    age: ArrayLike,
    rng: np.random.Generator,
    n_units: ArrayLike | None = None,
    confidence: float = 0.95,
    n_draws: int = 400,
) -> BracketLimits:
    """Return limits of survival for ages at failure known to lie in (lower, upper].

    Parameters
    ----------
    lower, upper, n_units
        As for `interval_censored`.
    age : array of float, shape (a,)
        Ages at which to say how many survive.
    rng : numpy.random.Generator
    confidence : float, default 0.95
        Two-sided level of the limits at each age.
    n_draws : int, default 400
        More draws settle the limits; the time grows alike.

    Returns
    -------
    BracketLimits

    Raises
    ------
    InsufficientDataError
        Fewer than ten units that failed (a finite upper).
    ValueError
        As `interval_censored`; a negative age, fewer than 1 draw.

    Notes
    -----
    As many units are drawn with replacement, and the estimate made anew. The lower
    limit is the quantile of the lowest survival that each draw allows, the upper one
    that of the highest. No theory promises the level. In 200 to 250 simulated samples
    each, 95 % limits held survival in 88 to 95 % with 30 units inspected now and then,
    in 90 to 96 % with 100; least at ages by which few have failed.
    """
    normal_quantile(confidence)
    tail = (1 - confidence) / 2
    ages = checked_ages("age", age)
    if n_draws < 1:
        raise ValueError(f"n_draws must be at least 1, got {n_draws}")
    low, high = checked_brackets(lower, upper)
    counts = checked_counts("n_units", n_units, low.shape)
    total, n_failed = int(counts.sum()), int(counts[np.isfinite(high)].sum())
    if n_failed < MIN_FAILED:
        raise InsufficientDataError("failed units", needed=MIN_FAILED, found=n_failed)
    lowest, highest = np.empty((2, n_draws, len(ages)))
    for i, drawn in enumerate(rng.multinomial(total, counts / total, size=n_draws)):
        estimate = interval_censored(low, high, n_units=drawn)
        lowest[i], highest[i] = estimate.survival_range(ages)
    return BracketLimits(
        age=ages,
        low=np.quantile(lowest, tail, axis=0),
        high=np.quantile(highest, 1 - tail, axis=0),
        n_units=total,
        n_draws=n_draws,
        confidence=confidence,
    )
