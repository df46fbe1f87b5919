"""Survival without a law where failures are known only to lie in intervals."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Floats,
    checked_ages,
    checked_counts,
)

Indices = NDArray[np.intp]

MAX_STEPS = 5000
# The gain that moving all mass could still bring, in log-likelihood per unit.
TOLERANCE = 1e-10
SMALLEST_STEP = 1e-12
# A sum of masses may miss a fraction by some units of the last place.
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class IntervalEstimate:
    """Mass of failures on the intervals (lower, upper] that can carry any."""

    lower: Floats  # equal to upper: a point
    upper: Floats  # inf: still working at lower
    mass: Floats  # sums to 1; where it lies within an interval is not known
    n_units: int

    def survival_range(self, age: ArrayLike) -> tuple[Floats, Floats]:
        """Return between which values survival lies at any ages.

        Parameters
        ----------
        age : float or array of float

        Returns
        -------
        low, high : float or array of float, same shape as `age`
            Equal where the data determine survival; apart within an interval that
            carries mass. This is what the data leave open, no limits of an error.

        Raises
        ------
        ValueError
            A negative age.
        """
        ages = np.asarray(age, dtype=np.float64)
        if not (ages >= 0).all():
            raise ValueError("ages must not be negative")
        left = np.maximum(1 - np.cumsum(np.append(0, self.mass)), 0)
        left[-1] = 0
        # Beyond lower, all of (lower, upper] may have failed; a point fails at its age.
        n_over = np.searchsorted(self.upper, ages, side="right")
        n_begun = np.maximum(np.searchsorted(self.lower, ages, side="left"), n_over)
        return left[n_begun][()], left[n_over][()]

    def quantile_range(self, p: float) -> tuple[float, float]:
        """Return between which ages a fraction p has failed.

        Parameters
        ----------
        p : float
            Between 0 and 1.

        Returns
        -------
        lower, upper : float
            The interval (lower, upper] in which the fraction failed reaches p; a point
            where both are equal, upper = inf where it is not known to be reached.

        Raises
        ------
        ValueError
            p is not between 0 and 1.
        """
        if not 0 < p < 1:
            raise ValueError(f"p must be between 0 and 1, got {p}")
        place = int(np.searchsorted(np.cumsum(self.mass), p - ROUNDING))
        place = min(place, len(self.mass) - 1)
        return float(self.lower[place]), float(self.upper[place])


def interval_censored(
    lower: ArrayLike, upper: ArrayLike, *, n_units: ArrayLike | None = None
) -> IntervalEstimate:
    """Estimate the distribution of ages at failure known to lie in (lower, upper].

    Parameters
    ----------
    lower, upper : array of float, shape (k,)
        lower == upper: failed at that age; upper = inf: still working at lower;
        lower = 0: failed by upper.
    n_units : array of int, shape (k,), optional
        Units that share the pair; left out: 1 each.

    Returns
    -------
    IntervalEstimate
        Ascending innermost intervals with their masses; intervals whose mass is 0 are
        kept.

    Raises
    ------
    InsufficientDataError
        No unit at all.
    ValueError
        upper below lower, arrays of unequal length, a negative count.
    ArithmeticError
        No convergence (not seen).

    Notes
    -----
    Turnbull (1976): the likelihood depends only on the mass of the intervals that
    begin with some lower and end with the next upper. It is concave; the maximum is
    found by steps of expectation and maximisation in turn with Newton steps that keep
    the fraction failed rising (Wellner and Zhan 1997), and accepted when no shift of
    mass can gain over 1e-10 per unit (2000 distinct pairs take a tenth of a second).
    In rare cases several spreads of mass are as likely; one of them is returned.
    Checked against tests/published/test_turnbull_cosmesis.py.
    """
    low, high = checked_brackets(lower, upper)
    counts = checked_counts("n_units", n_units, low.shape)
    pairs, where = np.unique(
        np.stack([low, high], axis=1)[counts > 0], axis=0, return_inverse=True
    )
    if not len(pairs):
        raise InsufficientDataError("units", needed=1, found=0)
    weight = np.zeros(len(pairs))
    np.add.at(weight, np.ravel(where), counts[counts > 0])
    left, right = _innermost(pairs[:, 0], pairs[:, 1])
    reach = _Reach.of(pairs[:, 0], pairs[:, 1], left, right)
    return IntervalEstimate(
        lower=left,
        upper=right,
        mass=_masses(reach, weight / weight.sum()),
        n_units=int(weight.sum()),
    )


def checked_brackets(lower: ArrayLike, upper: ArrayLike) -> tuple[Floats, Floats]:
    """Return both ends as floats; ValueError unless they pair up in order."""
    low, high = checked_ages("lower", lower), np.asarray(upper, dtype=np.float64)
    if high.shape != low.shape:
        raise ValueError(f"upper must have shape {low.shape}, got {high.shape}")
    if not (high >= low).all():
        raise ValueError("upper must not lie below lower")
    return low, high


def _innermost(lower: Floats, upper: Floats) -> tuple[Floats, Floats]:
    # Ends in the order in which (a, b] and [x, x] meet at one age: the point begins and
    # ends, an interval that holds it ends, the next interval begins.
    is_point = lower == upper
    age = np.concatenate([lower, upper])
    rank = np.concatenate([np.where(is_point, 0, 3), np.where(is_point, 1, 2)])
    order = np.lexsort((rank, age))
    begins = np.concatenate([np.full(len(lower), 1), np.zeros(len(upper))])[order] > 0
    first = np.flatnonzero(begins[:-1] & ~begins[1:])
    return age[order][first], age[order][first + 1]


@dataclass(frozen=True, slots=True)
class _Reach:
    """Which innermost intervals each pair holds: those from first to before stop."""

    first: Indices
    stop: Indices
    n_intervals: int

    @classmethod
    def of(cls, lower: Floats, upper: Floats, left: Floats, right: Floats) -> Self:
        first = np.searchsorted(left, lower, side="left")
        # A point at the open end of a pair lies outside it.
        begins_at = np.minimum(first, len(left) - 1)
        point_at_end = (left == right)[begins_at] & (left[begins_at] == lower)
        exact = lower == upper
        first = first + (point_at_end & ~exact)
        stop = np.where(exact, first + 1, np.searchsorted(right, upper, side="right"))
        return cls(first=first, stop=stop, n_intervals=len(left))

    def sums(self, mass: Floats) -> Floats:
        """Return the mass that each pair holds."""
        # Added up for each pair: a difference of cumulated masses loses digits.
        ends = np.stack([self.first, self.stop], axis=1).ravel()
        held: Floats = np.add.reduceat(np.append(mass, 0.0), ends)[::2]
        return held

    def slopes(self, by_pair: Floats) -> Floats:
        """Return for each interval the sum over the pairs that hold it."""
        return np.cumsum(self.at_ends(by_pair, -by_pair))[:-1]

    def at_ends(self, at_first: Floats, at_stop: Floats) -> Floats:
        """Return sums over the pairs that begin, and end, before each interval."""
        n = self.n_intervals + 1
        return np.asarray(
            np.bincount(self.first, at_first, n) + np.bincount(self.stop, at_stop, n)
        )


def _masses(reach: _Reach, weight: Floats) -> Floats:
    mass = np.full(reach.n_intervals, 1 / reach.n_intervals)
    for _ in range(MAX_STEPS):
        if reach.slopes(weight / reach.sums(mass)).max() <= 1 + TOLERANCE:
            return mass
        mass = _stepped(reach, weight, mass)
        # Expectation and maximisation moves mass where the other step hardly does.
        mass = mass * reach.slopes(weight / reach.sums(mass))
    raise ArithmeticError(f"no convergence in {MAX_STEPS} steps")


def _stepped(reach: _Reach, weight: Floats, mass: Floats) -> Floats:
    # Newton's step for the fraction failed between the intervals with a diagonal
    # curvature, brought to the nearest rising fraction within 0 and 1.
    held = reach.sums(mass)
    pull, curvature = weight / held, weight / held**2
    slope = reach.at_ends(-pull, pull)[1:-1]
    bend = reach.at_ends(curvature, curvature)[1:-1]
    failed = np.cumsum(mass)[:-1]
    rising = optimize.isotonic_regression(failed + slope / bend, weights=bend).x
    target = np.diff(np.clip(rising, 0, 1), prepend=0, append=1)
    now, size = float(weight @ np.log(held)), 1.0
    while size > SMALLEST_STEP:
        candidate = mass + size * (target - mass)
        reached = reach.sums(candidate)
        if (reached > 0).all() and weight @ np.log(reached) >= now:
            return np.asarray(candidate)
        size /= 2
    return mass
