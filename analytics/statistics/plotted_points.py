"""Failures as points of a probability plot, and a line through them to compare with.

On the plot of a law age is a logarithm and the failed fraction is the law's z, so that
the law itself is a straight line. The line through the points is no estimate to report:
it weighs the few late failures like the many early ones and has no honest interval.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Counts,
    Floats,
    RiskTable,
    checked_entries,
    risk_table,
)
from analytics.statistics.likelihood import Distribution, law_named

Position = Literal["midpoint", "median-rank", "benard"]
Distances = Literal["age", "fraction"]

POSITIONS = ("midpoint", "median-rank", "benard")


@dataclass(frozen=True, slots=True, eq=False)
class PlottedPoints:
    """Where each distinct age with a failure is plotted, ascending."""

    age: Floats  # (k,)
    n_failed: Counts
    failed_fraction: Floats


@dataclass(frozen=True, slots=True)
class PlottedLine:
    """The law of a straight line through plotted points, for comparison only."""

    distribution: str
    parameters: dict[str, float]  # as of `fit_life`
    r_squared: float  # nan where all points lie at one age
    n_points: int


def plotted_points(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    position: Position = "midpoint",
) -> PlottedPoints:
    """Return the failed fraction at which each age with failures is plotted.

    Parameters
    ----------
    age : array of float, shape (k,)
        Not negative, any order; repeated ages add up.
    n_failed, n_censored : array of int, shape (k,)
        Units that failed, or were last seen working, at each age.
    entry_age, n_entered : array, shape (j,), optional
        Delayed entry, only with position "midpoint".
    position : {"midpoint", "median-rank", "benard"}
        Middle of the step of the Kaplan-Meier curve; median of the beta law of the
        rank; or Benard's approximation to that median, (rank - 0.3) / (n + 0.4).

    Returns
    -------
    PlottedPoints

    Raises
    ------
    InsufficientDataError
        No unit, or no failure.
    ValueError
        Ranks asked for with delayed entry, arrays that do not fit each other, a
        negative count, an unknown position.

    Notes
    -----
    Units still working raise the ranks of later failures (Johnson 1964 (from memory)):
    each failure with r units left, itself included, goes up by
    (n + 1 - last rank) / (r + 1). Failures at one age share the middle of their ranks.
    Checked against tests/published/test_median_ranks.py and test_nist_ranks.py.
    """
    if position not in POSITIONS:
        raise ValueError(f"position must be {', '.join(POSITIONS)}, got {position!r}")
    table = risk_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    failed = table.n_failed[:, 0]
    shown = failed > 0
    if not shown.any():
        raise InsufficientDataError("failures", needed=1, found=0)
    if position == "midpoint":
        fraction = _midpoints(table)
    elif _enter_late(entry_age, n_entered):
        raise ValueError(
            "ranks count units seen from new; with delayed entry use position midpoint"
        )
    else:
        fraction = _by_rank(table, position)
    return PlottedPoints(table.age[shown], failed[shown], fraction[shown])


def _enter_late(entry_age: ArrayLike | None, n_entered: ArrayLike | None) -> bool:
    entries = checked_entries(entry_age, n_entered)
    return entries is not None and bool((entries[0][entries[1] > 0] > 0).any())


def _midpoints(table: RiskTable) -> Floats:
    # At an age of which nobody is at risk nobody fails, and the curve stays.
    at_risk = np.maximum(table.n_at_risk, 1)
    survival = np.cumprod(1 - table.n_failed[:, 0] / at_risk)
    before = np.concatenate([[1.0], survival[:-1]])
    return np.asarray(1 - (before + survival) / 2)


def _by_rank(table: RiskTable, position: Position) -> Floats:
    # n + 1 - rank shrinks by r / (r + 1) at each failure; d failures at one age,
    # r = n_at_risk and down, shrink it by (n_at_risk + 1 - d) / (n_at_risk + 1), in
    # equal steps: the middle one is half of d + 1 steps from where they begin.
    failed, at_risk = table.n_failed[:, 0], table.n_at_risk
    n = int(at_risk[0])
    left = (n + 1) * np.cumprod(1 - failed / (at_risk + 1))
    before = np.concatenate([[n + 1.0], left[:-1]])
    rank = n + 1 - before * (1 - (failed + 1) / (2 * (at_risk + 1)))
    if position == "benard":
        return np.asarray((rank - 0.3) / (n + 0.4), dtype=np.float64)
    return np.asarray(special.betaincinv(rank, n + 1 - rank, 0.5), dtype=np.float64)


def line_through_points(
    points: PlottedPoints,
    *,
    distribution: Distribution,
    distances: Distances = "age",
) -> PlottedLine:
    """Return the law of the least-squares line through plotted points.

    Parameters
    ----------
    points : PlottedPoints
        Each counts as often as units failed there. A point at age 0, or at a fraction
        of 1, has no place on the plot and is left out.
    distribution : {"weibull", "lognormal", "exponential"}
        The exponential line has the slope of a Weibull shape of 1.
    distances : {"age", "fraction"}
        What the squares are of. By default of the logarithm of age: the positions are
        set by the ranks, and chance is in the ages. "fraction" measures along the
        other axis and gives the flatter line: a smaller shape, a larger sigma.

    Returns
    -------
    PlottedLine

    Raises
    ------
    InsufficientDataError
        Points at fewer than two distinct ages (exponential: none).
    ValueError
        An unknown distribution or direction.

    Notes
    -----
    Checked against tests/published/test_nist_ranks.py, where the handbook measures
    along the fraction.
    """
    if distances not in {"age", "fraction"}:
        raise ValueError(f"distances must be age or fraction, got {distances!r}")
    law = law_named(distribution)
    fraction = points.failed_fraction
    shown = (points.age > 0) & (fraction > 0) & (fraction < 1)
    needed = 1 if distribution == "exponential" else 2
    if np.count_nonzero(shown) < needed:
        raise InsufficientDataError(
            "distinct ages with a failure",
            needed=needed,
            found=int(np.count_nonzero(shown)),
        )
    y, z = np.log(points.age[shown]), law.quantile(fraction[shown])
    weight = points.n_failed[shown] / points.n_failed[shown].sum()
    centre_y, centre_z = float(weight @ y), float(weight @ z)
    y, z = y - centre_y, z - centre_z
    across, along, mixed = weight @ z**2, weight @ y**2, weight @ (y * z)
    if distribution == "exponential":
        rho = 1.0
    else:
        rho = float(across / mixed if distances == "age" else mixed / along)
    miss = float(weight @ (z - rho * y) ** 2)  # in z; over rho^2 in the log of age
    total = float(across if distances == "fraction" else along * rho**2)
    return PlottedLine(
        distribution=distribution,
        parameters=_parameters(distribution, centre_y - centre_z / rho, rho),
        r_squared=1 - miss / total if total else float("nan"),
        n_points=int(np.count_nonzero(shown)),
    )


def _parameters(distribution: str, centre: float, rho: float) -> dict[str, float]:
    """Return the parameters of z = rho (ln(age) - centre)."""
    if distribution == "lognormal":
        return {"mu": centre, "sigma": 1 / rho}
    with np.errstate(over="ignore"):
        scale = float(np.exp(centre))  # inf where the line is all but flat
    if distribution == "weibull":
        return {"shape": rho, "scale": scale}
    return {"scale": scale}
