"""How good suggestions are, by confidence and by cause: counts, and limits for shares.

Every share comes with the 95 % limits of Wilson, as if the cases scored were a sample
of those to come.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.advice.evidence import Flags, Floats, Integers
from analytics.statistics.intervals import binomial_interval

N_BINS = 10  # of confidence
N_POINTS = 20  # of coverage
N_DRAWS = 500  # of what chance alone does to a calibrated suggester
BY_CHANCE = 0.95  # share of these draws that stay below


@dataclass(frozen=True, slots=True)
class CalibrationCurve:
    """Share right beside the mean confidence, for each bin that has a case.

    Arrays of shape (b,): limits of the bin, cases, mean confidence, cases right,
    share right and its 95 % limits.
    """

    low: Floats
    high: Floats
    n: Integers
    mean: Floats
    n_right: Integers
    share: Floats
    share_low: Floats
    share_high: Floats


@dataclass(frozen=True, slots=True)
class RiskCoverage:
    """Share wrong if only the surest cases were answered, surest first.

    Arrays of shape (k,), at most 20 points: share answered, cases answered, the
    least confidence among them, cases wrong, share wrong and its 95 % limits.
    """

    coverage: Floats
    n: Integers
    confidence: Floats
    n_wrong: Integers
    error: Floats
    error_low: Floats
    error_high: Floats


@dataclass(frozen=True, slots=True)
class ByCause:
    """How the cases of each true cause fared, for each cause that has one.

    Arrays of shape (c,): column of the cause, its cases, those it was named first
    for, those it was among the first three for, its mean probability in them, and in
    how many cases of any cause it was named first.
    """

    cause: Integers
    n: Integers
    n_right: Integers
    n_in_top_3: Integers
    mean: Floats
    n_named: Integers


def calibration_curve(
    confidence: ArrayLike, correct: ArrayLike, *, n_bins: int = N_BINS
) -> CalibrationCurve:
    """Compare the confidence of answers with how often they were right.

    Parameters
    ----------
    confidence : array of float, shape (n,)
        Probability given to the answer, 0 to 1.
    correct : array of bool, shape (n,)
        Whether the answer was right.
    n_bins : int
        Bins of equal width; a value on a limit belongs to the bin below it.

    Raises
    ------
    ValueError
        No case, other lengths, or a confidence outside 0 to 1.
    """
    sure, right = _checked(confidence, correct)
    bins = _bins_of(sure, n_bins)
    n = np.bincount(bins, minlength=n_bins)
    filled = np.flatnonzero(n)
    n = n[filled]
    n_right = np.bincount(bins, weights=right, minlength=n_bins)[filled].astype(int)
    total = np.bincount(bins, weights=sure, minlength=n_bins)[filled]
    share_low, share_high = binomial_interval(n_right, n)
    return CalibrationCurve(
        low=filled / n_bins,
        high=(filled + 1) / n_bins,
        n=n,
        mean=total / n,
        n_right=n_right,
        share=n_right / n,
        share_low=share_low,
        share_high=share_high,
    )


def risk_coverage(
    confidence: ArrayLike, correct: ArrayLike, *, n_points: int = N_POINTS
) -> RiskCoverage:
    """Return how often answers are wrong if only the surest cases are answered.

    Parameters
    ----------
    confidence, correct : array, shape (n,)
        As `calibration_curve`.
    n_points : int
        At most so many points, evenly over the cases. Cases of one confidence are
        answered together, for nothing says which of them is surer.

    Raises
    ------
    ValueError
        As `calibration_curve`.
    """
    sure, right = _checked(confidence, correct)
    order = np.argsort(-sure, kind="stable")
    sure, wrong = sure[order], (~right[order]).astype(np.int64).cumsum()
    ends = np.flatnonzero(np.append(np.diff(sure) != 0, True)) + 1
    wanted = np.ceil(np.arange(1, n_points + 1) * len(sure) / n_points)
    n = np.unique(ends[np.searchsorted(ends, wanted)])
    n_wrong = wrong[n - 1]
    low, high = binomial_interval(n_wrong, n)
    return RiskCoverage(
        coverage=n / len(sure),
        n=n,
        confidence=sure[n - 1],
        n_wrong=n_wrong,
        error=n_wrong / n,
        error_low=low,
        error_high=high,
    )


def by_cause(probabilities: ArrayLike, truth: ArrayLike) -> ByCause:
    """Count for each true cause how often it was named first, and among three.

    Parameters
    ----------
    probabilities : array of float, shape (n, m)
    truth : array of int, shape (n,)
        Column of the true cause.
    """
    p = np.asarray(probabilities, dtype=float)
    true = np.asarray(truth, dtype=np.int64)
    n_causes = p.shape[1]
    of_truth = p[np.arange(len(true)), true]
    not_below = (p >= of_truth[:, None]).sum(axis=1)
    n = np.bincount(true, minlength=n_causes)
    causes = np.flatnonzero(n)

    def counted(rows: Flags) -> Integers:
        return np.asarray(np.bincount(true[rows], minlength=n_causes)[causes])

    total = np.bincount(true, weights=of_truth, minlength=n_causes)[causes]
    return ByCause(
        cause=causes,
        n=n[causes],
        n_right=counted(not_below <= 1),
        n_in_top_3=counted(not_below <= 3),  # noqa: PLR2004 - the first three
        mean=total / n[causes],
        n_named=np.bincount(p.argmax(axis=1), minlength=n_causes)[causes],
    )


def calibration_error(
    confidence: ArrayLike, correct: ArrayLike, *, n_bins: int = N_BINS
) -> float:
    """Return the mean over cases of |share right - mean confidence| of the case's bin.

    Parameters and errors as `calibration_curve`.
    """
    sure, right = _checked(confidence, correct)
    return _error(sure, right, _bins_of(sure, n_bins))


def calibration_by_chance(
    confidence: ArrayLike, *, rng: np.random.Generator, n_bins: int = N_BINS
) -> float:
    """Return the calibration error that chance alone stays below in 95 % of draws.

    On few cases even a suggester whose confidence is exactly right shows an error:
    the share right of a bin scatters. A larger error than this one needs a reason.

    Parameters
    ----------
    confidence : array of float, shape (n,)
    rng : Generator
        Draws, for each case, whether an answer of that confidence is right.
    n_bins : int
        As `calibration_curve`.
    """
    sure = np.asarray(confidence, dtype=float)
    bins = _bins_of(sure, n_bins)
    errors = [_error(sure, rng.random(len(sure)) < sure, bins) for _ in range(N_DRAWS)]
    return float(np.quantile(errors, BY_CHANCE))


def _bins_of(confidence: Floats, n_bins: int) -> Integers:
    """Return the bin of equal width each confidence is in; a limit belongs below."""
    inner = np.linspace(0, 1, n_bins + 1)[1:-1]
    return np.asarray(np.searchsorted(inner, confidence, side="left"))


def _error(sure: Floats, right: Flags, bins: Integers) -> float:
    gaps = np.bincount(bins, weights=right - sure)
    return float(np.abs(gaps).sum() / len(sure))


def _checked(confidence: ArrayLike, correct: ArrayLike) -> tuple[Floats, Flags]:
    sure = np.asarray(confidence, dtype=float)
    right = np.asarray(correct, dtype=bool)
    if sure.shape != right.shape or sure.ndim != 1 or not len(sure):
        raise ValueError(f"one flag per confidence: {sure.shape}, {right.shape}")
    if not ((sure >= 0) & (sure <= 1)).all():
        raise ValueError("a confidence is 0 to 1")
    return sure, right
