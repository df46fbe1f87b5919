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
    expected = np.asarray(n_expected, dtype=np.float64)
    counts = checked_counts("n_failures", n_failures, expected.shape)
    if expected.ndim != 1 or not ((expected >= 0) & np.isfinite(expected)).all():
        raise ValueError("n_expected must be one row of finite numbers, not negative")
    if ((expected == 0) & (counts > 0)).any():
        raise ValueError("failures were counted where none is expected")
    n_all, all_expected = int(counts.sum()), float(expected.sum())
    n_values = int((expected > 0).sum())
    rest = all_expected - expected
    # What rounding leaves of a sum is no group of its own.
    is_group = (expected > 0) & (rest > 1e-9 * all_expected)
    if n_values < 2 or not n_all:  # noqa: PLR2004 - a group and its rest
        return None
    n_rest = n_all - counts
    stands_out = is_group & (counts * np.where(is_group, rest, 0) > n_rest * expected)
    if not stands_out.any():
        return None
    gains = (
        _term(counts, expected)
        + _term(n_rest, rest)
        - n_all * math.log(n_all / all_expected)
    )
    value = int(np.argmax(np.where(stands_out, gains, -np.inf)))
    return BestSplit(
        value=value,
        n_inside=int(counts[value]),
        expected_inside=float(expected[value]),
        n_outside=int(n_rest[value]),
        expected_outside=float(rest[value]),
        gain=float(gains[value]) - math.log(n_values),
    )


def _term(counts: ArrayLike, expected: Floats) -> Floats:
    n = np.asarray(counts, dtype=np.float64)
    known = (n > 0) & (expected > 0)
    ratio = np.where(known, n, 1.0) / np.where(known, expected, 1.0)
    term: Floats = np.where(known, n * np.log(ratio), 0.0)
    return term
