"""The Weibull scale when too few failures leave the shape open."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import checked_ages, checked_counts, normal_quantile


@dataclass(frozen=True, slots=True)
class ScaleFit:
    """Scale of a Weibull law whose shape is assumed; inf without a failure."""

    scale: float
    low: float
    high: float


def weibull_assumed_shape(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    shape: float,
    confidence: float = 0.95,
) -> ScaleFit:
    """Return the Weibull scale when the shape is assumed, for one failure or none.

    Parameters
    ----------
    age : array of float, shape (k,)
        Any order and unit; repeated ages add up.
    n_failed, n_censored : array of int, shape (k,)
    shape : float
        The assumed shape, above 0.
    confidence : float, default 0.95

    Returns
    -------
    ScaleFit
        Two-sided limits, exact where the observation stops at a set age. Without a
        failure the scale and high are inf, and low is a one-sided limit at the level.

    Raises
    ------
    InsufficientDataError
        No unit has reached an age above 0.
    ValueError
        A shape not above 0, arrays that do not fit each other, a negative count.

    Notes
    -----
    age^shape is exponential, so with T = sum of age^shape and d failures
    scale = (T / d)^(1/shape), limits (2 T / chi2)^(1/shape) with chi2 at 2d + 2
    degrees of freedom below and 2d above. Checked against
    tests/published/test_assumed_shape.py.
    """
    if not (shape > 0 and np.isfinite(shape)):
        raise ValueError(f"shape must be above 0, got {shape}")
    normal_quantile(confidence)
    ages = checked_ages("age", age)
    failed = checked_counts("n_failed", n_failed, ages.shape)
    units = failed + checked_counts("n_censored", n_censored, ages.shape)
    largest = float(ages[units > 0].max(initial=0))
    if not largest:
        raise InsufficientDataError("units older than 0", needed=1, found=0)
    d = int(failed.sum())
    total = float(units @ (ages / largest) ** shape)  # over largest^shape: no overflow

    def scale_at(n_events: float) -> float:
        return largest * float((total / n_events) ** (1 / shape))

    if not d:
        inf = float("inf")
        return ScaleFit(scale=inf, low=scale_at(-np.log1p(-confidence)), high=inf)
    tail = (1 - confidence) / 2
    return ScaleFit(
        scale=scale_at(d),
        low=scale_at(float(special.gammainccinv(d + 1, tail))),
        high=scale_at(float(special.gammaincinv(d, tail))),
    )
