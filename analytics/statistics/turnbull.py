"""Survival without a law where failures are known only to lie in intervals."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Bools,
    Floats,
    checked_ages,
    checked_counts,
)

MAX_STEPS = 500
# The gain that moving all mass could still bring, in log-likelihood per unit.
TOLERANCE = 1e-10
# Weight of the row that holds the masses to a sum of 1 in the least-squares step.
SUM_WEIGHT = 1e3
SMALLEST_STEP = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class IntervalEstimate:
    """Mass of failures on the intervals (lower, upper] that can carry any."""

    lower: Floats  # equal to upper: a point
    upper: Floats  # inf: still working at lower
    mass: Floats  # sums to 1; where it lies within an interval is not known


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
    found by constrained Newton steps (non-negative least squares and a line search;
    Wang 2007), and accepted when no shift of mass can gain over 1e-10 per unit.
    Checked against tests/published/test_turnbull_cosmesis.py.
    """
    low, high = checked_ages("lower", lower), np.asarray(upper, dtype=np.float64)
    if high.shape != low.shape or not (high >= low).all():
        raise ValueError("upper must have the shape of lower and not lie below it")
    counts = checked_counts("n_units", n_units, low.shape)
    pairs, where = np.unique(
        np.stack([low, high], axis=1)[counts > 0], axis=0, return_inverse=True
    )
    if not len(pairs):
        raise InsufficientDataError("units", needed=1, found=0)
    weight = np.zeros(len(pairs))
    np.add.at(weight, np.ravel(where), counts[counts > 0])
    left, right = _innermost(pairs[:, 0], pairs[:, 1])
    covers = _covers(pairs[:, 0], pairs[:, 1], left, right)
    return IntervalEstimate(lower=left, upper=right, mass=_masses(covers, weight))


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


def _covers(lower: Floats, upper: Floats, left: Floats, right: Floats) -> Bools:
    low, high = lower[:, None], upper[:, None]
    point = left == right
    in_interval = np.where(
        point, (left > low) & (left <= high), (left >= low) & (right <= high)
    )
    inside: Bools = np.where(low == high, point & (left == low), in_interval)
    return inside


def _masses(covers: Bools, weight: Floats) -> Floats:
    matrix = covers.astype(np.float64)
    total = weight.sum()
    mass = np.full(matrix.shape[1], 1 / matrix.shape[1])
    for _ in range(MAX_STEPS):
        fitted = matrix @ mass
        slope = (weight / fitted) @ matrix
        if slope.max() <= total * (1 + TOLERANCE):
            return mass
        mass = _stepped(matrix, weight, mass, fitted)
        # A step of expectation and maximisation spreads what least squares cut.
        mass = mass * ((weight / (matrix @ mass)) @ matrix) / total
    raise ArithmeticError(f"no convergence in {MAX_STEPS} steps")


def _stepped(matrix: Floats, weight: Floats, mass: Floats, fitted: Floats) -> Floats:
    # Second-order model of the log-likelihood around `mass`: |root (2 - A m / f)|^2.
    root = np.sqrt(weight / weight.sum())
    scaled = root[:, None] * matrix / fitted[:, None]
    rows = np.vstack([scaled, np.full(matrix.shape[1], SUM_WEIGHT)])
    solution, _ = optimize.nnls(rows, np.append(2 * root, SUM_WEIGHT))
    target = np.asarray(solution / solution.sum())
    now = float(weight @ np.log(fitted))
    size = 1.0
    while size > SMALLEST_STEP:
        candidate = mass + size * (target - mass)
        reached = matrix @ candidate
        if (reached > 0).all() and weight @ np.log(reached) >= now:
            return np.asarray(candidate)
        size /= 2
    return mass
