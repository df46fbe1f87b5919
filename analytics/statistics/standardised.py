"""Groups made comparable: directly standardised rates, and observed over expected.

A group of old units fails more often than one of young units, whatever its quality.
Direct standardisation asks how often it would fail with the ages of a common fleet;
the standardised ratio, how often it did fail beside what its own ages let expect.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Floats, checked_counts, normal_quantile
from analytics.statistics.intervals import (
    central_p_value,
    poisson_interval,
    rate_ratio,
)
from analytics.statistics.quiet_fleet import START_VARIANCE, level_variance


class StandardisedRatio(NamedTuple):
    """Observed over expected events, the limits, and the p-value of a ratio of 1."""

    ratio: Floats
    low: Floats
    high: Floats
    p_value: Floats


class ShrunkenRatio(NamedTuple):
    """Levels of groups, and the variance of the true levels behind them."""

    ratio: Floats
    variance: float


class StandardisedRate(NamedTuple):
    """Events per unit of exposure in a common population, with its limits."""

    rate: Floats
    low: Floats
    high: Floats


def standardised_ratio(
    n_observed: ArrayLike,
    n_expected: ArrayLike,
    *,
    confidence: float = 0.95,
    n_others: ArrayLike | None = None,
    expected_others: ArrayLike | None = None,
) -> StandardisedRatio:
    """Return observed over expected events, exact.

    Parameters
    ----------
    n_observed : int or array of int
    n_expected : float or array of float, above 0
    confidence : float, default 0.95
        Two-sided level, between 0 and 1.
    n_others, expected_others : int and float, or arrays, optional
        Events of the others and what was expected of them, by the same rates. Given
        where the expectation is itself uncertain; both or neither.

    Returns
    -------
    StandardisedRatio
        Without others, observed / expected with Garwood's limits, as if the
        expectation were known; the p-value is twice the smaller Poisson tail. With
        others, the ratio of both ratios with the limits of `rate_ratio` and the p-value
        that goes with them (`central_p_value`), exact given the sum of events; without
        any event it is nan, with limits 0 and inf.

    Raises
    ------
    ValueError
        A count that is negative or not whole, an expectation not above 0, only one of
        the two about the others.

    Notes
    -----
    Checked against tests/published/test_standardised_rates.py.
    """
    expected = np.asarray(n_expected, dtype=np.float64)
    if not ((expected > 0) & np.isfinite(expected)).all():
        raise ValueError("n_expected must be finite and above 0")
    if (n_others is None) != (expected_others is None):
        raise ValueError("n_others and expected_others go together: give both or none")
    if n_others is None or expected_others is None:
        low, high = poisson_interval(n_observed, expected, confidence=confidence)
        observed = np.asarray(n_observed, dtype=np.float64)
        at_most = special.pdtr(observed, expected)
        at_least = np.where(
            observed > 0, special.pdtrc(np.maximum(observed - 1, 0), expected), 1.0
        )
        p_value = np.minimum(1.0, 2 * np.minimum(at_most, at_least))
        return StandardisedRatio((observed / expected)[()], low, high, p_value[()])
    found = rate_ratio(
        n_observed, expected, n_others, expected_others, confidence=confidence
    )
    p_value = central_p_value(n_observed, expected, n_others, expected_others)
    return StandardisedRatio(found.ratio, found.low, found.high, p_value)


def directly_standardised_rate(
    n_events: ArrayLike,
    exposure: ArrayLike,
    weight: ArrayLike,
    *,
    confidence: float = 0.95,
) -> StandardisedRate:
    """Return the rate a group would have with the make-up of a common population.

    Parameters
    ----------
    n_events : array of int, shape (..., k)
        Events in each of k strata (age bands).
    exposure : array of float, shape (..., k)
        What they are counted over, above 0 in each stratum that has weight.
    weight : array of float, shape (..., k)
        Size of the strata in the common population, not negative; only their
        proportions matter.
    confidence : float, default 0.95

    Returns
    -------
    StandardisedRate
        Shape (...), per unit of exposure.

    Raises
    ------
    InsufficientDataError
        A stratum with weight has no exposure: its rate is not known.
    ValueError
        Arrays that do not fit, a negative value, events without exposure, no weight.

    Notes
    -----
    rate = sum(w x / n) with the weights w adding up to 1. Limits by the gamma
    distribution (Fay and Feuer 1997): with variance v = sum(w^2 x / n^2) and the
    largest m = max(w / n), low = quantile of gamma with mean rate and variance v, high
    that of gamma with mean rate + m and variance v + m^2. With one stratum they are
    Garwood's. Checked against tests/published/test_standardised_rates.py.
    """
    normal_quantile(confidence)
    events, over, weights = _checked_strata(n_events, exposure, weight)
    has_weight = weights > 0
    if (has_weight & (over == 0)).any():
        n_known = int((has_weight & (over > 0)).sum(axis=-1).min())
        raise InsufficientDataError(
            "strata with exposure", needed=n_known + 1, found=n_known
        )
    of_one = np.where(has_weight, weights / np.where(over > 0, over, 1.0), 0.0)
    rate = (of_one * events).sum(axis=-1)
    variance = (of_one**2 * events).sum(axis=-1)
    largest = of_one.max(axis=-1)
    tail = (1 - confidence) / 2
    some = np.where(variance > 0, variance, 1.0)
    shape = np.where(variance > 0, rate**2 / some, 1.0)
    scale = np.where(variance > 0, some / np.where(rate > 0, rate, 1.0), 0.0)
    low = scale * special.gammaincinv(shape, tail)
    wider, above = variance + largest**2, rate + largest
    high = wider / above * special.gammainccinv(above**2 / wider, tail)
    limits = (np.asarray(limit, dtype=np.float64)[()] for limit in (low, high))
    return StandardisedRate(rate[()], *limits)


def _checked_strata(
    n_events: ArrayLike, exposure: ArrayLike, weight: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    shaped = np.broadcast_arrays(n_events, exposure, weight)
    if not shaped[0].ndim or not shaped[0].shape[-1]:
        raise ValueError("n_events, exposure and weight need at least one stratum")
    events = checked_counts("n_events", shaped[0], shaped[0].shape).astype(np.float64)
    over, weights = (np.asarray(part, dtype=np.float64) for part in shaped[1:])
    for name, values in (("exposure", over), ("weight", weights)):
        if not ((values >= 0) & np.isfinite(values)).all():
            raise ValueError(f"{name} must be finite and not negative")
    if ((over == 0) & (events > 0)).any():
        raise ValueError("events were counted without exposure")
    total = weights.sum(axis=-1, keepdims=True)
    if not (total > 0).all():
        raise ValueError("weight must be above 0 in at least one stratum")
    return events, over, weights / total


def shrunken_ratio(n_observed: ArrayLike, n_expected: ArrayLike) -> ShrunkenRatio:
    """Return the level of each group, drawn towards 1 the less is known of it.

    For ranking: with few expected events the largest ratios are the luckiest draws.

    Parameters
    ----------
    n_observed : array of int, shape (k,)
    n_expected : array of float, shape (k,), above 0

    Returns
    -------
    ShrunkenRatio

    Raises
    ------
    ValueError
        Counts that are negative or not whole, an expectation not above 0, arrays of
        unequal length.

    Notes
    -----
    Levels are taken as gamma with mean 1 and variance v, so level = (1/v + observed) /
    (1/v + expected) (Clayton and Kaldor 1987, their Poisson-gamma model, from memory).
    v by weighted moments in two rounds, w = 1 / (1 + v expected)^2: v = (sum(w
    ((observed - expected)^2 - expected)) + 5/v0) / (sum(w expected^2) + 5/v0^2), with
    v0 = 0.09 as if five groups had shown it before, and within 0.001 and 0.5 (own
    choice).
    """
    expected = np.asarray(n_expected, dtype=np.float64)
    if expected.ndim != 1:
        raise ValueError(f"n_expected must have one dimension, got {expected.shape}")
    if not ((expected > 0) & np.isfinite(expected)).all():
        raise ValueError("n_expected must be finite and above 0")
    observed = checked_counts("n_observed", n_observed, expected.shape)
    one = np.ones(1)  # counts scatter as Poisson's do
    counts = observed.astype(np.float64)[None]
    found = level_variance(counts, expected[None], one, START_VARIANCE * one)
    variance = float(found[0])
    ratio = (1 / variance + observed) / (1 / variance + expected)
    return ShrunkenRatio(ratio, variance)
