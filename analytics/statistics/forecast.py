"""Forecast of returns: how complete the reports of the last days are."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Floats, checked_ages, checked_counts


@dataclass(frozen=True, slots=True, eq=False)
class ReportingLag:
    """Share of reports that have come in by each lag, relative to the longest lag."""

    lag: Floats  # distinct, ascending
    completeness: Floats  # 1 at the longest lag


def reporting_lag(
    lag: ArrayLike, truncation: ArrayLike, n: ArrayLike | None = None
) -> ReportingLag:
    """Estimate the distribution of a delay seen only where it has ended.

    Parameters
    ----------
    lag : array of float, shape (k,)
        Delay from failure to report, not negative.
    truncation : array of float, shape (k,)
        The longest delay that could have been seen: from failure to the last day of
        data; at least `lag`.
    n : array of int, shape (k,), optional
        Reports that share the pair; left out: 1 each.

    Returns
    -------
    ReportingLag
        At the distinct lags; completeness is relative to the longest one, since
        nothing is known of longer delays.

    Raises
    ------
    InsufficientDataError
        No report at all.
    ValueError
        A lag longer than its truncation, a negative value, arrays of unequal length.

    Notes
    -----
    Reversed hazard p(d) = #(lag = d) / #(lag <= d <= truncation), then G(longest) = 1
    and G right below d = G(d) (1 - p(d)) (Lagakos, Barraj and De Gruttola 1988;
    Kalbfleisch and Lawless 1989). A lag at which all those who could be seen have
    that very lag makes every shorter one 0. Checked against
    tests/published/test_reporting_lag.py.
    """
    lags = checked_ages("lag", lag)
    limits = checked_ages("truncation", truncation)
    if limits.shape != lags.shape:
        raise ValueError(f"truncation must have shape {lags.shape}, got {limits.shape}")
    counts = checked_counts("n", n, lags.shape)
    if (lags > limits)[counts > 0].any():
        raise ValueError("a lag is longer than its truncation")
    some = counts > 0
    lags, limits, counts = lags[some], limits[some], counts[some]
    if not counts.sum():
        raise InsufficientDataError("reports", needed=1, found=0)
    distinct, where = np.unique(lags, return_inverse=True)
    n_here = np.bincount(where, weights=counts)
    order = np.argsort(limits, kind="stable")
    n_ended = np.concatenate([[0], np.cumsum(counts[order])])
    # Truncation below d implies lag below d, so the set is a plain difference.
    n_out = n_ended[np.searchsorted(limits[order], distinct, side="left")]
    hazard = n_here / (np.cumsum(n_here) - n_out)
    later = np.concatenate([hazard[1:], [0.0]])
    return ReportingLag(
        lag=distinct, completeness=np.cumprod((1 - later)[::-1])[::-1].copy()
    )
