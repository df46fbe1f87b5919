"""Whether a mode is equally frequent in all groups: Gray's test from counts."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import special
from scipy.sparse import csgraph

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Counts,
    Floats,
    checked_ages,
    checked_counts,
    risk_table,
)

N_DIMENSIONS = 2  # ages by groups
MIN_GROUPS = 2
# What is left of 1 may miss 0 by some units of the last place.
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class GrayTest:
    """Gray's test of equal incidence of one mode in all groups."""

    statistic: float
    degrees_of_freedom: int
    p_value: float


class _Lives(NamedTuple):
    """What happens at each age with a unit at risk, one column per group."""

    failed: Floats  # (k, g), by the mode
    other: Floats  # (k, g), by another mode
    at_risk: Floats  # (k, g)


def gray_test(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_failed_other: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
) -> GrayTest:
    """Test whether one mode has the same incidence in all groups.

    Parameters
    ----------
    age : array of float, shape (k,)
        Not negative, any order; repeated ages add up.
    n_failed : array of int, shape (k, g)
        Failures by the mode asked about, one column per group.
    n_failed_other : array of int, shape (k, g)
        Failures by any other mode: they end the life.
    n_censored : array of int, shape (k, g)
    entry_age, n_entered : array, shapes (j,) and (j, g), optional
        Delayed entry, one column of `n_entered` per group.

    Returns
    -------
    GrayTest
        Chi-square statistic; degrees of freedom are the groups that had units at risk
        beside others, less one per set of groups compared.

    Raises
    ------
    InsufficientDataError
        Fewer than two groups with units; no failure by the mode that another unit
        outlived while two groups were at risk; with delayed entry, a group of which no
        unit is in view, or none survives, at an age of failure, while more come into
        view later: its incidence from new cannot be known.
    ValueError
        Arrays that do not fit each other, a negative count.

    Notes
    -----
    Gray (1988) with rho = 0: in each group, failures less those expected if all groups
    had one incidence F, with the weight n (1 - F_g(t-)) / S_g(t-) of a group with n at
    risk. Of its variance terms one stands for failures by the mode, one for other
    failures; with d > 1 failures of m units at one age they shrink by the factor
    1 - (d - 1) / (m - 1). For the first kind m are the units of all groups, put on the
    scale of one group; should d be above it, the factor is taken as 0.

    The theory takes the units at risk as they come (a multiplicative intensity), so it
    holds for delayed entry that has nothing to do with the life to come; simulation
    finds the stated level there too (tests/truth/coverage.py). Checked against the
    author's program: tests/published/test_gray_1988.py.
    """
    lives = _lives(
        checked_ages("age", age),
        (n_failed, n_failed_other, n_censored),
        entry_age,
        n_entered,
    )
    score, variance = _score(lives)
    # Rounding hides the rank of the matrix; which groups met at a failure gives it.
    n_parts, _ = csgraph.connected_components(variance != 0, directed=False)
    rank = len(score) - int(n_parts)
    if not rank:
        raise InsufficientDataError(
            "failures by the mode that others outlived, with two groups at risk",
            needed=1,
            found=0,
        )
    values, axes = np.linalg.eigh(variance)
    along = axes.T[-rank:] @ score
    statistic = float(along @ (along / values[-rank:]))
    return GrayTest(
        statistic=statistic,
        degrees_of_freedom=rank,
        p_value=float(special.chdtrc(rank, statistic)),
    )


def _lives(
    ages: Floats,
    given: tuple[ArrayLike, ArrayLike, ArrayLike],
    entry_age: ArrayLike | None,
    n_entered: ArrayLike | None,
) -> _Lives:
    if np.ndim(given[0]) != N_DIMENSIONS:
        raise ValueError("n_failed must have shape (ages, groups)")
    n_groups = np.shape(given[0])[1]
    names = ("n_failed", "n_failed_other", "n_censored")
    failed, other, censored = (
        checked_counts(name, counts, (len(ages), n_groups))
        for name, counts in zip(names, given, strict=True)
    )
    entries = _entries(entry_age, n_entered, n_groups)
    groups = np.flatnonzero((failed + other + censored).sum(axis=0))
    if len(groups) < MIN_GROUPS:
        raise InsufficientDataError(
            "groups with units", needed=MIN_GROUPS, found=len(groups)
        )
    tables = [
        risk_table(
            ages,
            np.stack([failed[:, group], other[:, group]], axis=1),
            censored[:, group],
            entry_age=None if entries is None else entries[0],
            n_entered=None if entries is None else entries[1][:, group],
        )
        for group in groups
    ]
    counts = np.stack([table.n_failed for table in tables], axis=2).astype(np.float64)
    at_risk = np.stack([table.n_at_risk for table in tables], axis=1)
    if not counts[:, 0].any():
        raise InsufficientDataError("failures by the mode", needed=1, found=0)
    used = counts.sum(axis=(1, 2)) > 0
    lives = _Lives(counts[used, 0], counts[used, 1], at_risk[used].astype(np.float64))
    if entries is not None:
        _refuse_gaps(lives)
    return lives


def _entries(
    entry_age: ArrayLike | None, n_entered: ArrayLike | None, n_groups: int
) -> tuple[Floats, Counts] | None:
    if entry_age is None:
        if n_entered is not None:
            raise ValueError("n_entered was given without entry_age")
        return None
    ages = checked_ages("entry_age", entry_age)
    return ages, checked_counts("n_entered", n_entered, (len(ages), n_groups))


def _refuse_gaps(lives: _Lives) -> None:
    # Where the last unit in view fails or is not there, survival is 0 or not known,
    # and says nothing of the units that come into view later.
    n_later = np.cumsum(lives.at_risk[::-1], axis=0)[::-1] - lives.at_risk
    n_surviving = lives.at_risk - lives.failed - lives.other
    if ((n_surviving == 0) & (n_later > 0)).any():
        raise InsufficientDataError(
            "units in view that survive each age at which any fails, in every group",
            needed=1,
            found=0,
        )


def _score(lives: _Lives) -> tuple[Floats, Floats]:
    """Return failures less those expected per group, and their covariance."""
    failed, other, n = lives
    units = np.maximum(n, 1)  # where nobody is at risk nobody fails
    survival = np.cumprod(1 - (failed + other) / units, axis=0, dtype=np.float64)
    before = _shifted(survival, 1.0)
    incidence = np.cumsum(before * failed / units, axis=0)
    # The units there would be at risk, had none of those seen from new failed.
    whole = np.where(n > 0, n / np.where(n > 0, before, 1), 0)
    d, total = failed.sum(axis=1), whole.sum(axis=1)
    left = 1 - np.cumsum(d / total)
    own_left = 1 - _shifted(incidence, 0.0)
    weight = whole * own_left
    expected = d[:, None] * weight / weight.sum(axis=1)[:, None]
    # contrast (k, g, g): how a failure of the second group moves the score of the first
    share = whole / total[:, None]
    contrast = whole[:, :, None] * (np.eye(n.shape[1]) - share[:, None, :])
    hazard = d / (total * _left_before(left, np.where(n > 0, own_left, 1)))
    passed = np.cumsum(contrast * hazard[:, None, None], axis=0)
    to_come = passed[-1] - passed
    alive = survival > 0
    ratio = np.where(alive, left[:, None] / np.where(alive, survival, 1), 0)
    pooled = total[:, None] * before  # units at risk, in those of the group
    by_mode = (
        _shrunk(d[:, None], pooled) * d[:, None] * before / (total[:, None] * units)
    )
    by_other = _shrunk(other, n) * other * (before / units) ** 2
    own = contrast + (1 - ratio)[:, None, :] * to_come
    rest = ratio[:, None, :] * to_come
    variance = _products(own, by_mode * (n > 0)) + _products(rest, by_other)
    return (failed - expected).sum(axis=0), variance


def _left_before(left: Floats, own_left: Floats) -> Floats:
    # With three groups or more, one that has left the risk set may have carried the
    # pooled incidence to 1 or beyond: then it counts as the highest of the others.
    before = _shifted(left, 1.0)
    return np.where(before > ROUNDING, before, own_left.min(axis=1))


def _products(moves: Floats, weight: Floats) -> Floats:
    # Sums over ages and over the groups whose failures move the scores.
    over = ([0, 2], [0, 2])
    return np.asarray(np.tensordot(moves * weight[:, None, :], moves, axes=over))


def _shrunk(d: Floats, units: Floats) -> Floats:
    # Where more fail at once than are pooled there, a factor below 0 would take
    # variance away, in a small data set all of it.
    tied = (d - 1) / np.where(units > 1, units - 1, 1)
    return np.where(d > 1, np.maximum(1 - tied, 0), 1.0)


def _shifted(values: Floats, first: float) -> Floats:
    return np.concatenate([np.full_like(values[:1], first), values[:-1]])
