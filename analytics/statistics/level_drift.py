"""How much the levels of strata wander, as a random walk, from look to look."""

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.counts import Floats

Numbers = NDArray[np.floating]

YEAR = 12  # looks of a block
USUAL_DRIFT = 0.03**2  # 3 % a look: what is a drift, and what rather a step
# Pseudo-counts: two pairs of years, known that well, without any drift.
PRIOR_PAIRS = 2 / USUAL_DRIFT**2
MOST_SQUARES = 9.0  # a pair counts with three standard deviations at most
MOST_DRIFT = 0.004
N_ROUNDS = 3


def level_drift(
    y: Numbers, e: Numbers, shock: Floats, level: Floats, phi: Floats, kappa: Floats
) -> Floats:
    """Return the variance of the step of a log level from look to look, (B,).

    Parameters
    ----------
    y, e : array of float, shape (T, B, N)
        Failures and failures expected; e may be (T, 1, N).
    shock, level : array of float, shape (T, B) and (B, N)
    phi, kappa : array of float, shape (B,)

    Returns
    -------
    array of float, shape (B,)
        0 under two years of looks.

    Notes
    -----
    The rates of successive years of a stratum differ by a variance of two thirds of a
    year's steps, beyond the scatter of their counts. Moments, weighted by precision. A
    step in a rate is cut off, so that it does not pass for drift.
    """
    n_looks, n_draws, _ = y.shape
    n_years = n_looks // YEAR
    if n_years <= 1:
        return np.zeros(n_draws)
    starts = range(n_looks - n_years * YEAR, n_looks, YEAR)
    parts = [slice(first, first + YEAR) for first in starts]
    n = np.stack([y[part].sum(axis=0, dtype=np.float64) for part in parts])
    m = np.stack([_product(e[part], shock[part]) for part in parts])
    squares = np.stack([_product(e[part] ** 2, shock[part] ** 2) for part in parts])
    both = (m[1:] > 0) & (m[:-1] > 0)
    new, old = np.where(both, m[1:], 1), np.where(both, m[:-1], 1)
    found = (n[1:] / new - n[:-1] / old) ** 2
    noise = phi[:, None] * level * (1 / new + 1 / old)
    noise += kappa[:, None] * level**2 * (squares[1:] / new**2 + squares[:-1] / old**2)
    signal = level**2 * (2 * YEAR / 3)
    found = np.minimum(found, MOST_SQUARES * (noise + signal * USUAL_DRIFT))
    drift = np.full(n_draws, USUAL_DRIFT / 4)
    for _ in range(N_ROUNDS):
        weight = np.where(both, (noise + signal * drift[:, None]) ** -2.0, 0.0)
        above = (weight * signal * (found - noise)).sum(axis=(0, 2))
        below = (weight * signal**2).sum(axis=(0, 2)) + PRIOR_PAIRS
        drift = np.clip(above / below, 0.0, MOST_DRIFT)
    return drift


def _product(e: Numbers, shock: Floats) -> Floats:
    found = np.einsum("tbn,tb->bn", e, shock.astype(e.dtype), optimize=True)
    return np.broadcast_to(found, (shock.shape[1], e.shape[2])).astype(np.float64)
