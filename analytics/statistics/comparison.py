"""Whether groups fail alike: the log-rank test from counts."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special
from scipy.sparse import csgraph

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Counts,
    Floats,
    checked_ages,
    checked_counts,
    checked_entries,
    risk_table,
)

N_DIMENSIONS = 2  # ages by groups
MIN_GROUPS = 2


@dataclass(frozen=True, slots=True, eq=False)
class LogRank:
    """Log-rank test of equal hazards in all groups."""

    statistic: float
    degrees_of_freedom: int
    p_value: float
    n_failed: Counts  # (g,)
    n_expected: Floats  # (g,): if all groups had the same hazard at each age


def log_rank(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    stratum: ArrayLike | None = None,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    entry_stratum: ArrayLike | None = None,
) -> LogRank:
    """Test whether all groups have the same hazard.

    Parameters
    ----------
    age : array of float, shape (k,)
        Not negative, any order; repeated ages add up.
    n_failed, n_censored : array of int, shape (k, g)
        One column per group.
    stratum : array, shape (k,), optional
        Groups are compared within each stratum (a label per row) and the differences
        added up.
    entry_age, n_entered : array, shapes (j,) and (j, g), optional
        Delayed entry, one column of `n_entered` per group.
    entry_stratum : array, shape (j,), optional
        The stratum of the units that enter; needed where strata and entries are given.

    Returns
    -------
    LogRank
        Chi-square statistic; degrees of freedom are the groups that had units at risk
        beside others, less one per set of groups compared.

    Raises
    ------
    InsufficientDataError
        Fewer than two groups with units, or no failure that another unit outlived
        while two groups were at risk.
    ValueError
        Arrays that do not fit each other, a negative count, a stratum that is None or
        nan, strata with entries that have none.

    Notes
    -----
    Observed less expected failures with the hypergeometric variance at ties (Mantel
    1966). Checked against tests/published/test_freireich_1963.py.
    """
    ages = checked_ages("age", age)
    n_groups = _n_groups(n_failed)
    failed = checked_counts("n_failed", n_failed, (len(ages), n_groups))
    censored = checked_counts("n_censored", n_censored, (len(ages), n_groups))
    entries = _entries(entry_age, n_entered, n_groups)
    labels = _labels("stratum", stratum, len(ages))
    entry_labels = _entry_labels(labels, stratum, entries, entry_stratum)
    n_with_units = int(np.count_nonzero((failed + censored).sum(axis=0)))
    if n_with_units < MIN_GROUPS:
        raise InsufficientDataError(
            "groups with units", needed=MIN_GROUPS, found=n_with_units
        )
    observed, expected = np.zeros(n_groups, dtype=np.int64), np.zeros(n_groups)
    variance = np.zeros((n_groups, n_groups))
    for label in dict.fromkeys(labels):
        rows, late = labels == label, None
        if entries is not None:
            entering = entry_labels == label
            late = entries[0][entering], entries[1][entering]
        one = _compared(ages[rows], failed[rows], censored[rows], late)
        observed += one[0]
        expected += one[1]
        variance += one[2]
    # Rounding hides the rank of the matrix; which groups met at a failure gives it.
    n_parts, _ = csgraph.connected_components(variance != 0, directed=False)
    rank = n_groups - int(n_parts)
    if not rank:
        raise InsufficientDataError(
            "failures that others outlived, with two groups at risk",
            needed=1,
            found=0,
        )
    values, axes = np.linalg.eigh(variance)
    along = axes.T[-rank:] @ (observed - expected)
    statistic = float(along @ (along / values[-rank:]))
    return LogRank(
        statistic=statistic,
        degrees_of_freedom=rank,
        p_value=float(special.chdtrc(rank, statistic)),
        n_failed=observed,
        n_expected=expected,
    )


def _n_groups(n_failed: ArrayLike) -> int:
    shape = np.shape(n_failed)
    if len(shape) != N_DIMENSIONS:
        raise ValueError(f"n_failed must have shape (ages, groups), got {shape}")
    return int(shape[1])


def _entries(
    entry_age: ArrayLike | None, n_entered: ArrayLike | None, n_groups: int
) -> tuple[Floats, Counts] | None:
    if entry_age is None:
        return checked_entries(entry_age, n_entered)
    ages = checked_ages("entry_age", entry_age)
    return ages, checked_counts("n_entered", n_entered, (len(ages), n_groups))


def _labels(name: str, values: ArrayLike | None, n: int) -> NDArray[Any]:
    labels = np.zeros(n) if values is None else np.asarray(values)
    if labels.shape != (n,):
        raise ValueError(f"{name} must have shape ({n},), got {labels.shape}")
    for label in labels:
        if label is None or label != label:  # noqa: PLR0124 - what is not a number
            raise ValueError(f"{name} must be known for every row, got {label}")
    return labels


def _entry_labels(
    labels: NDArray[Any],
    stratum: ArrayLike | None,
    entries: tuple[Floats, Counts] | None,
    entry_stratum: ArrayLike | None,
) -> NDArray[Any]:
    if (entry_stratum is not None) != (stratum is not None and entries is not None):
        raise ValueError(
            "entry_stratum goes with stratum and entry_age: give all three, or not it"
        )
    ages, entered = entries if entries is not None else (np.zeros(0), np.zeros((0, 0)))
    entry_labels = _labels("entry_stratum", entry_stratum, len(ages))
    alone = ~np.isin(entry_labels, labels) & (entered.sum(axis=1) > 0)
    if alone.any():
        raise ValueError(
            f"units enter stratum {entry_labels[alone][0]}, none leaves it"
        )
    return entry_labels


def _compared(
    ages: Floats,
    failed: Counts,
    censored: Counts,
    entries: tuple[Floats, Counts] | None,
) -> tuple[Counts, Floats, Floats]:
    """Return observed and expected failures per group, and their covariance."""
    n_groups = failed.shape[1]
    d_by_group = np.zeros((len(np.unique(ages)), n_groups), dtype=np.int64)
    n_by_group = np.zeros_like(d_by_group)
    for group in range(n_groups):
        if not (failed[:, group] + censored[:, group]).sum():
            if entries is not None and entries[1][:, group].any():
                raise ValueError(f"units of group {group} enter, but none leaves")
            continue
        late = (
            {}
            if entries is None
            else {"entry_age": entries[0], "n_entered": entries[1][:, group]}
        )
        table = risk_table(ages, failed[:, group], censored[:, group], **late)
        d_by_group[:, group] = table.n_failed[:, 0]
        n_by_group[:, group] = table.n_at_risk
    d, n = d_by_group.sum(axis=1), n_by_group.sum(axis=1)
    share = n_by_group / np.maximum(n, 1)[:, None]
    weight = d * (n - d) / np.maximum(n - 1, 1)
    own = np.diag((weight[:, None] * share).sum(axis=0))
    return (
        d_by_group.sum(axis=0),
        (d[:, None] * share).sum(axis=0),
        own - (weight[:, None] * share).T @ share,
    )
