"""Intervals for proportions and rates, and many tests at once.

Proportions: Wilson's score interval (Wilson 1927), Clopper and Pearson's exact one
(1934) and Jeffreys' equal-tailed one. Rates: Garwood's exact limits (1936).
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from analytics.statistics.counts import (
    Bools,
    Counts,
    Floats,
    checked_counts,
    normal_quantile,
)

BinomialMethod = Literal["wilson", "clopper-pearson", "jeffreys"]


@dataclass(frozen=True, slots=True)
class RateRatio:
    """The ratio of two rates, its exact interval and two-sided p-value."""

    ratio: Floats
    low: Floats
    high: Floats
    p_value: Floats


class Discoveries(NamedTuple):
    """Which hypotheses are rejected, and their adjusted p-values, in input order."""

    rejected: Bools
    adjusted: Floats


def binomial_interval(
    n_events: ArrayLike,
    n_trials: ArrayLike,
    *,
    confidence: float = 0.95,
    method: BinomialMethod = "wilson",
) -> tuple[Floats, Floats]:
    """Return the limits of a proportion.

    Parameters
    ----------
    n_events, n_trials : int or array of int
        Broadcast against each other; without trials the limits are 0 and 1.
    confidence : float, default 0.95
        Two-sided level, between 0 and 1.
    method : {"wilson", "clopper-pearson", "jeffreys"}
        "clopper-pearson" covers at least at the level, the others on average.

    Returns
    -------
    low, high : float or array of float, within [0, 1]

    Raises
    ------
    ValueError
        A count that is negative or not whole, more events than trials, an unknown
        method.

    Notes
    -----
    Jeffreys: quantiles of Beta(x + 1/2, n - x + 1/2), with low = 0 at x = 0 and
    high = 1 at x = n, so that no event is never excluded (Brown, Cai and DasGupta
    2001). Checked against Newcombe (1998): tests/published/test_newcombe_1998.py.
    """
    events, trials = _broadcast_counts(n_events, n_trials)
    if (events > trials).any():
        raise ValueError("n_events must not exceed n_trials")
    z = normal_quantile(confidence)
    tail = (1 - confidence) / 2
    if method == "wilson":
        low, high = _wilson(events, trials, z)
    elif method == "clopper-pearson":
        low = _beta_quantile(events, trials - events + 1, tail)
        high = _beta_quantile(events + 1, trials - events, 1 - tail)
    elif method == "jeffreys":
        low = _beta_quantile(events + 0.5, trials - events + 0.5, tail)
        high = _beta_quantile(events + 0.5, trials - events + 0.5, 1 - tail)
    else:
        raise ValueError(
            f"method must be wilson, clopper-pearson or jeffreys, got {method!r}"
        )
    return (
        np.where(events == 0, 0.0, low)[()],
        np.where(events == trials, 1.0, high)[()],
    )


def _broadcast_counts(first: ArrayLike, second: ArrayLike) -> tuple[Counts, Counts]:
    one, two = np.broadcast_arrays(np.asarray(first), np.asarray(second))
    return (
        checked_counts("counts", one, one.shape),
        checked_counts("counts", two, two.shape),
    )


def _wilson(events: Counts, trials: Counts, z: float) -> tuple[Floats, Floats]:
    n = np.maximum(trials, 1)
    share = events / n
    centre = (share + z**2 / (2 * n)) / (1 + z**2 / n)
    half = z * np.sqrt(share * (1 - share) / n + z**2 / (4 * n**2)) / (1 + z**2 / n)
    return np.maximum(centre - half, 0), np.minimum(centre + half, 1)


def _beta_quantile(a: ArrayLike, b: ArrayLike, p: float) -> Floats:
    # The border cases (a or b = 0) are set by the caller.
    return np.asarray(
        special.betaincinv(np.maximum(a, 0.5), np.maximum(b, 0.5), p), dtype=np.float64
    )


def poisson_interval(
    n_events: ArrayLike, exposure: ArrayLike = 1.0, *, confidence: float = 0.95
) -> tuple[Floats, Floats]:
    """Return the exact (Garwood) limits of a rate.

    Parameters
    ----------
    n_events : int or array of int
    exposure : float or array of float, default 1
        What the events are counted over (unit-days, or expected events for a
        standardised ratio). Without exposure and events the limits are 0 and inf.
    confidence : float, default 0.95

    Returns
    -------
    low, high : float or array of float, per unit of exposure

    Raises
    ------
    ValueError
        A count negative or not whole, a negative exposure, events without exposure.

    Notes
    -----
    low = chi2(a/2; 2x) / 2, high = chi2(1 - a/2; 2x + 2) / 2, over the exposure.
    Checked against the table in Ulm (1990): tests/published/test_garwood_limits.py.
    """
    normal_quantile(confidence)
    counts, over = np.broadcast_arrays(
        np.asarray(n_events), np.asarray(exposure, dtype=np.float64)
    )
    events = checked_counts("n_events", counts, counts.shape)
    if not ((over >= 0) & np.isfinite(over)).all():
        raise ValueError("exposure must be finite and not negative")
    if ((over == 0) & (events > 0)).any():
        raise ValueError("events were counted without exposure")
    low, high = _garwood(events, (1 - confidence) / 2)
    known = np.where(over > 0, over, 1.0)
    return (
        np.where(over > 0, low / known, 0.0)[()],
        np.where(over > 0, high / known, np.inf)[()],
    )


def _garwood(events: Counts, tail: float) -> tuple[Floats, Floats]:
    # Half a chi-square quantile with 2a degrees of freedom is a gamma quantile.
    low = special.gammaincinv(np.maximum(events, 1), tail)
    high = special.gammainccinv(events + 1, tail)
    return np.where(events > 0, low, 0.0), np.asarray(high, dtype=np.float64)


def rate_ratio(
    n_a: ArrayLike,
    exposure_a: ArrayLike,
    n_b: ArrayLike,
    exposure_b: ArrayLike,
    *,
    confidence: float = 0.95,
) -> RateRatio:
    """Return the rate of a over the rate of b, exact given the sum of events.

    Parameters
    ----------
    n_a, n_b : int or array of int
    exposure_a, exposure_b : float or array of float, above 0
    confidence : float, default 0.95

    Returns
    -------
    RateRatio
        Without events the ratio is nan, the limits 0 and inf, the p-value 1.

    Raises
    ------
    ValueError
        A count that is negative or not whole, an exposure not above 0.

    Notes
    -----
    Given n_a + n_b, n_a is binomial with odds ratio x exposure_a / exposure_b. The
    interval is Clopper and Pearson's of that share; the p-value is the probability of
    the outcomes no likelier than the observed one: near the border only one of the two
    may exclude 1 (`central_p_value` agrees). See tests/published/test_two_rates.py.
    """
    a, time_a, b, time_b = _two_rates(n_a, exposure_a, n_b, exposure_b)
    low, high = binomial_interval(
        a, a + b, confidence=confidence, method="clopper-pearson"
    )
    p_values = [
        stats.binomtest(int(x), int(x + y), float(share)).pvalue if x + y else 1.0
        for x, y, share in zip(
            a.ravel(), b.ravel(), (time_a / (time_a + time_b)).ravel(), strict=True
        )
    ]
    per_odds = time_b / time_a
    with np.errstate(divide="ignore", invalid="ignore"):
        return RateRatio(
            ratio=(a / b * per_odds)[()],
            low=(low / (1 - low) * per_odds)[()],
            high=(high / (1 - high) * per_odds)[()],
            p_value=np.reshape(p_values, a.shape)[()],
        )


def central_p_value(
    n_a: ArrayLike, exposure_a: ArrayLike, n_b: ArrayLike, exposure_b: ArrayLike
) -> Floats:
    """Return the p-value of equal rates that agrees with the interval of `rate_ratio`.

    Parameters
    ----------
    n_a, n_b : int or array of int
    exposure_a, exposure_b : float or array of float, above 0

    Returns
    -------
    float or array of float
        Below 1 - confidence just where that interval leaves 1 out; without events 1.

    Raises
    ------
    ValueError
        A count that is negative or not whole, an exposure not above 0.

    Notes
    -----
    Twice the smaller tail (with n_a itself) of n_a given n_a + n_b: binomial, the share
    that of the exposures. Checked against tests/published/test_two_rates.py.
    """
    a, time_a, b, time_b = _two_rates(n_a, exposure_a, n_b, exposure_b)
    share = time_a / (time_a + time_b)
    at_most = np.where(b > 0, special.betainc(np.maximum(b, 1), a + 1, 1 - share), 1.0)
    at_least = np.where(a > 0, special.betainc(np.maximum(a, 1), b + 1, share), 1.0)
    return np.asarray(np.minimum(2 * np.minimum(at_most, at_least), 1.0))[()]


def _two_rates(*given: ArrayLike) -> tuple[Counts, Floats, Counts, Floats]:
    shaped = np.broadcast_arrays(*given)  # n_a, exposure_a, n_b, exposure_b
    a, b = _broadcast_counts(shaped[0], shaped[2])
    time_a, time_b = (np.asarray(t, dtype=np.float64) for t in shaped[1::2])
    if not ((time_a > 0) & (time_b > 0) & np.isfinite(time_a + time_b)).all():
        raise ValueError("exposures must be finite and above 0")
    return a, time_a, b, time_b


def benjamini_hochberg(p_values: ArrayLike, *, rate: float = 0.05) -> Discoveries:
    """Return which p-values pass at a false discovery rate, and the adjusted ones.

    Parameters
    ----------
    p_values : array of float, shape (k,)
    rate : float, default 0.05
        Expected share of false ones among those rejected.

    Returns
    -------
    Discoveries
        (rejected, adjusted), in input order; rejected is adjusted <= rate.

    Raises
    ------
    ValueError
        A p-value outside [0, 1], or a rate not between 0 and 1.

    Notes
    -----
    adjusted of the i-th smallest of m = min over j >= i of m p_(j) / j. Checked
    against Benjamini and Hochberg (1995): tests/published/test_benjamini_1995.py.
    """
    p = np.asarray(p_values, dtype=np.float64)
    if p.ndim != 1 or not ((p >= 0) & (p <= 1)).all():
        raise ValueError("p_values must be one row of numbers from 0 to 1")
    if not 0 < rate < 1:
        raise ValueError(f"rate must be between 0 and 1, got {rate}")
    order = np.argsort(p, kind="stable")
    scaled = p[order] * len(p) / np.arange(1, len(p) + 1)
    adjusted = np.empty_like(p)
    adjusted[order] = np.minimum(np.minimum.accumulate(scaled[::-1])[::-1], 1)
    return Discoveries(rejected=adjusted <= rate, adjusted=adjusted)
