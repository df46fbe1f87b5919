"""Which one group explains an excess best, when the same failures are cut many ways."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.counts import Floats, checked_counts


@dataclass(frozen=True, slots=True)
class BestSplit:
    """The value whose failures stand out most from those of all other values.

    Attributes
    ----------
    value : int
        Index of it.
    n_inside, n_outside : int
        Failures with that value, and with any other.
    expected_inside, expected_outside : float
    gain : float
        Natural logarithm of the likelihood ratio of a rate of its own against one
        common rate, less the logarithm of how many values could have stood out.
    """

    value: int
    n_inside: int
    expected_inside: float
    n_outside: int
    expected_outside: float
    gain: float

    @property
    def stands_out(self) -> bool:
        """Whether the rate inside is above that outside."""
        return (
            self.n_inside * self.expected_outside
            > self.n_outside * self.expected_inside
        )


def best_split(n_failures: ArrayLike, n_expected: ArrayLike) -> BestSplit | None:
    """Return the value that stands out most; None where none is above the others.

    Parameters
    ----------
    n_failures : array of int, shape (k,)
        Failures by value of one dimension.
    n_expected : array of float, shape (k,)
        Expected failures, 0 where no unit has the value.

    Returns
    -------
    BestSplit or None

    Raises
    ------
    ValueError
        Arrays of unequal length, a negative number, failures where none is expected.

    Notes
    -----
    With O failures where E are expected, inside (1) and outside (2) of a value, the
    logarithm of the Poisson likelihood ratio is
    O1 ln(O1/E1) + O2 ln(O2/E2) - (O1+O2) ln((O1+O2)/(E1+E2)), as the scan statistic of
    Kulldorff (1997) has it. Less ln(k) for the k values looked at (Bonferroni's price
    on the scale of evidence), dimensions with few and with many values compare.
    Checked by hand in tests/unit/test_best_explained.py.
    """
    found = [split for split in splits(n_failures, n_expected) if split is not None]
    above = [split for split in found if split.stands_out]
    return max(above, key=lambda split: split.gain, default=None)


def splits(n_failures: ArrayLike, n_expected: ArrayLike) -> list[BestSplit | None]:
    """Return the split of every value, as `best_split` weighs it.

    Returns
    -------
    list of BestSplit or None, length k
        None where no unit has the value, or all have it, or nothing failed. The gain
        of a value below the others is that of standing out downwards.
    """
    expected = np.asarray(n_expected, dtype=np.float64)
    counts = checked_counts("n_failures", n_failures, expected.shape)
    if expected.ndim != 1 or not ((expected >= 0) & np.isfinite(expected)).all():
        raise ValueError("n_expected must be one row of finite numbers, not negative")
    if ((expected == 0) & (counts > 0)).any():
        raise ValueError("failures were counted where none is expected")
    n_all, all_expected = int(counts.sum()), float(expected.sum())
    n_values = int((expected > 0).sum())
    if not n_all:
        return [None] * len(expected)
    n_rest = n_all - counts
    # What rounding leaves of a sum is no group of its own.
    rest = np.where(expected >= all_expected * (1 - 1e-9), 0, all_expected - expected)
    common = n_all * math.log(n_all / all_expected)
    gains = _term(counts, expected) + _term(n_rest, rest) - common
    return [
        BestSplit(
            value=value,
            n_inside=int(counts[value]),
            expected_inside=float(expected[value]),
            n_outside=int(n_rest[value]),
            expected_outside=float(rest[value]),
            gain=float(gains[value]) - math.log(n_values),
        )
        if expected[value] > 0 and rest[value] > 0
        else None
        for value in range(len(expected))
    ]


def _term(counts: ArrayLike, expected: Floats) -> Floats:
    n = np.asarray(counts, dtype=np.float64)
    known = (n > 0) & (expected > 0)
    ratio = np.where(known, n, 1.0) / np.where(known, expected, 1.0)
    term: Floats = np.where(known, n * np.log(ratio), 0.0)
    return term
