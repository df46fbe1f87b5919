"""What a life distribution is fitted to: counts, checked once."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Counts,
    Floats,
    checked_ages,
    checked_counts,
    checked_entries,
)

MIN_FAILURE_AGES = 2  # with one, the spread of ages is not determined
SEEN_WORKING = "units known to have worked at some age"
# A sum of ages less the same ages in another order may miss 0 by so much of it.
ROUNDING = 1e-12


class LifeCounts(NamedTuple):
    """Checked counts: failures and censorings at ages, failures in intervals."""

    age: Floats
    n_failed: Counts
    n_censored: Counts
    lower: Floats
    upper: Floats
    n_interval: Counts
    entry_age: Floats
    n_entered: Counts

    @property
    def total_failed(self) -> int:
        """Return the number of failures, in intervals or not."""
        return int(self.n_failed.sum() + self.n_interval.sum())

    @property
    def mean_log_age(self) -> float:
        """Return the mean logarithm of the failure ages, intervals at their middle."""
        ages = np.concatenate([self.age, (self.lower + self.upper) / 2])
        n = np.concatenate([self.n_failed, self.n_interval])
        return float(np.average(np.log(ages[n > 0]), weights=n[n > 0]))


def checked_life_counts(
    exact: tuple[ArrayLike, ArrayLike, ArrayLike],
    intervals: tuple[ArrayLike | None, ArrayLike | None, ArrayLike | None],
    entries: tuple[ArrayLike | None, ArrayLike | None],
) -> LifeCounts:
    """Return the counts; ValueError where they do not fit each other.

    `exact` is (age, n_failed, n_censored), `intervals` (lower, upper, n_interval),
    `entries` (entry_age, n_entered).
    """
    known_entries = checked_entries(*entries) or (np.zeros(0), _no_counts())
    counts = LifeCounts(*_exact(*exact), *_intervals(*intervals), *known_entries)
    check_entries(counts)
    return counts


def _no_counts() -> Counts:
    return np.zeros(0, dtype=np.int64)


def _exact(
    age: ArrayLike, n_failed: ArrayLike, n_censored: ArrayLike
) -> tuple[Floats, Counts, Counts]:
    ages = checked_ages("age", age)
    failed = checked_counts("n_failed", n_failed, ages.shape)
    if failed[ages == 0].any():
        raise ValueError(
            "a failure at age 0 has no density; pass it as the interval (0, 1]"
        )
    return ages, failed, checked_counts("n_censored", n_censored, ages.shape)


def _intervals(
    lower: ArrayLike | None, upper: ArrayLike | None, n_interval: ArrayLike | None
) -> tuple[Floats, Floats, Counts]:
    if lower is None and upper is None and n_interval is None:
        return np.zeros(0), np.zeros(0), _no_counts()
    if lower is None or upper is None:
        raise ValueError("lower and upper must be given together")
    low, high = checked_ages("lower", lower), checked_ages("upper", upper)
    if low.shape != high.shape or not (low < high).all():
        raise ValueError("lower and upper must pair up, with lower below upper")
    return low, high, checked_counts("n_interval", n_interval, low.shape)


def check_entries(counts: LifeCounts) -> None:
    """Raise ValueError where more units enter from an age on than end after it."""
    some = counts.n_entered > 0
    entry, n_entering = counts.entry_age[some], counts.n_entered[some]
    ends = np.concatenate([counts.age, counts.upper])
    n_ends = np.concatenate([counts.n_failed + counts.n_censored, counts.n_interval])
    order, end_order = np.argsort(entry), np.argsort(ends)
    entry = entry[order]
    # Units that enter, and units that end, from each entry age on.
    n_later = np.cumsum(n_entering[order][::-1])[::-1]
    n_ended = np.concatenate([[0], np.cumsum(n_ends[end_order])])
    n_ending = n_ended[-1] - n_ended[np.searchsorted(ends[end_order], entry)]
    if (n_later > n_ending).any():
        first = entry[n_later > n_ending][0]
        raise ValueError(f"more units enter from age {first} on than end after it")


def checked_fractions(p: ArrayLike) -> Floats:
    """Return fractions as floats; ValueError unless within [0, 1]."""
    fractions = np.asarray(p, dtype=np.float64)
    if not ((fractions >= 0) & (fractions <= 1)).all():
        raise ValueError("fractions must lie between 0 and 1")
    return fractions


def check_enough(counts: LifeCounts, distribution: str) -> None:
    """Raise InsufficientDataError where no fit of the distribution can exist."""
    if not counts.total_failed:
        raise InsufficientDataError("failures", needed=1, found=0)
    if not counts.n_interval.any() and not _time_in_view(counts):
        # Every failure fell on the age at which its unit came into view.
        raise InsufficientDataError(SEEN_WORKING, needed=1, found=0)
    exact = counts.age[counts.n_failed > 0]
    some = counts.n_interval > 0
    if distribution == "exponential":
        if not len(exact) and not counts.lower[some].any() and not _survivors(counts):
            raise InsufficientDataError(SEEN_WORKING, needed=1, found=0)
        return
    pairs = np.stack([counts.lower[some], counts.upper[some]], axis=1)
    n_ages = len(np.unique(exact)) + len(np.unique(pairs, axis=0))
    # Where all failures can lie at one age and no unit is known to have worked beyond
    # it, laws with less and less spread around that age fit better without end.
    latest = max([*exact, *counts.lower[some], *counts.age[counts.n_censored > 0]])
    if n_ages < MIN_FAILURE_AGES or latest <= min([*exact, *counts.upper[some]]):
        raise InsufficientDataError(
            "distinct ages with a failure", needed=MIN_FAILURE_AGES, found=1
        )


def _time_in_view(counts: LifeCounts) -> float:
    ended = float((counts.n_failed + counts.n_censored) @ counts.age)
    seen = ended - float(counts.n_entered @ counts.entry_age)
    return seen if seen > ROUNDING * ended else 0.0


def _survivors(counts: LifeCounts) -> bool:
    return bool(counts.age[counts.n_censored > 0].any())
