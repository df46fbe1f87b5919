"""A fleet in which nothing recurs: how failures scatter while no rate has changed.

Failures y of a stratum in a look (a month) against e expected: E[y] = e b theta, with a
stable level theta of the stratum (gamma, mean 1, variance v) and a shock b of the look
shared by all strata (gamma, mean 1, variance tau2). Given both, with m = e b theta, the
variance is phi m + kappa m^2: several failures per cause, and shocks of one stratum in
one look.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.statistics.counts import Floats
from analytics.statistics.level_drift import level_drift

START_VARIANCE = 0.09  # levels differ by 30 %
START_DISPERSION = 1.1
START_SHOCK_VARIANCE = 0.01
N_ROUNDS = 4
# Pseudo-counts, which a small fleet falls back to: ten pairs of looks at the dispersion
# of the start, five strata at its variance.
N_PAIRS = 10.0
PRIOR_STRATA = 5 / START_VARIANCE**2
LEAST_SHOCK_VARIANCE = 0.0025
VARIANCE_LIMITS = (0.001, 0.5)
SHOCK_VARIANCE_LIMITS = (0.0004, 0.25)
LOOK_SHOCK_WEIGHT = 0.3
N_DIMENSIONS = (2, 3)

Numbers = NDArray[Any]  # float64, or float32 where both inputs are


@dataclass(frozen=True, slots=True, eq=False)
class QuietFleet:
    """What scatters in a quiet fleet; batched fits carry an axis of replicates."""

    level_variance: Floats  # v: () or (B,)
    dispersion: Floats  # phi, at least 1
    look_shock: Floats  # kappa, 0 to 1
    shock_variance: Floats  # tau2
    level: Floats  # theta: (N,) or (B, N)
    shock: Floats  # b: (T,) or (T, B)
    # Variance of the step of a log level from look to look: () or (B,).
    level_drift: Floats | float = 0.0


def fit_quiet_fleet(n_failures: ArrayLike, n_expected: ArrayLike) -> QuietFleet:
    """Estimate how failures scatter in a fleet, all strata and looks at once.

    Parameters
    ----------
    n_failures : array of float, shape (T, N) or (T, B, N)
        Failures by look and stratum; B replicates at once. A failure counts in one
        stratum only.
    n_expected : array of float, same shape or (T, N)
        Failures expected, 0 before a stratum exists; their sum should be that of the
        failures.

    Returns
    -------
    QuietFleet
        Without any failure: the values the search starts from.

    Raises
    ------
    ValueError
        Shapes that do not fit, a value that is negative or not finite, failures where
        none can be expected.

    Notes
    -----
    The dispersion comes from successive differences within a stratum, so that a step in
    its rate spoils one of them only (von Neumann 1941, from memory); levels are
    empirical Bayes (Clayton and Kaldor 1987, from memory). Moments, four rounds.
    """
    y, e, is_batched = checked_looks(n_failures, n_expected)
    if y.shape[0] == 0 or y.shape[2] == 0:
        raise ValueError(f"there must be a look and a stratum, got {np.shape(y)}")
    fit = fit_batch(y, e)
    if is_batched:
        return fit
    return QuietFleet(
        level_variance=fit.level_variance[0],
        dispersion=fit.dispersion[0],
        look_shock=fit.look_shock[0],
        shock_variance=fit.shock_variance[0],
        level=fit.level[0],
        shock=fit.shock[:, 0],
        level_drift=np.asarray(fit.level_drift)[0],
    )


def checked_looks(
    n_failures: ArrayLike, n_expected: ArrayLike
) -> tuple[Numbers, Numbers, bool]:
    """Return failures (T, B, N), expected (T, B or 1, N), and whether B was given."""
    y, e = np.asarray(n_failures), np.asarray(n_expected)
    if not (y.dtype == e.dtype == np.float32):
        y, e = y.astype(np.float64, copy=False), e.astype(np.float64, copy=False)
    if y.ndim not in N_DIMENSIONS:
        raise ValueError(f"n_failures must be looks by strata, got shape {y.shape}")
    is_batched = y.ndim == max(N_DIMENSIONS)
    if not is_batched:
        y = y[:, None]
    if e.ndim == min(N_DIMENSIONS):
        e = e[:, None]
    if e.shape not in {y.shape, (y.shape[0], 1, y.shape[2])}:
        raise ValueError(f"n_expected must fit {y.shape}, got {e.shape}")
    for name, values in (("n_failures", y), ("n_expected", e)):
        # One pass: the sum is finite only where all are, the least is not negative.
        if values.size and not (np.isfinite(values.sum()) and values.min() >= 0):
            raise ValueError(f"{name} must be finite and not negative")
    if ((y > 0) & (e == 0)).any():
        raise ValueError("there are failures in a look in which none is expected")
    return y, e, is_batched


def fit_batch(y: Numbers, e: Numbers) -> QuietFleet:
    """Fit replicates (T, B, N) to expected (T, B or 1, N), both already checked."""
    n_looks, n_draws, _ = y.shape
    v = np.full(n_draws, START_VARIANCE)
    phi = np.full(n_draws, START_DISPERSION)
    tau2 = np.full(n_draws, START_SHOCK_VARIANCE)
    shock = np.ones((n_looks, n_draws))
    n_of_stratum, n_of_look = _sum(y, axis=0), _sum(y, axis=2)
    for _ in range(N_ROUNDS):
        phi = _dispersion(y, e, shock)
        expected = np.einsum("tbn,tb->bn", e, shock, optimize=True)
        v = level_variance(n_of_stratum, expected, phi, v)
        level = (1 / v[:, None] + n_of_stratum / phi[:, None]) / (
            1 / v[:, None] + expected / phi[:, None]
        )
        by_look = np.einsum("tbn,bn->tb", e, level, optimize=True)
        tau2 = _shock_variance(n_of_look, by_look, phi, tau2)
        shock = (1 / tau2 + n_of_look / phi) / (1 / tau2 + by_look / phi)
    phi, kappa = _look_shock(y, e, shock, level)
    some = n_of_stratum.sum(axis=1) > 0
    return QuietFleet(
        level_variance=np.where(some, v, START_VARIANCE),
        dispersion=np.where(some, phi, START_DISPERSION),
        look_shock=np.where(some, kappa, 0.0),
        shock_variance=np.where(some, tau2, START_SHOCK_VARIANCE),
        level=np.where(some[:, None], level, 1.0),
        shock=np.where(some, shock, 1.0),
        level_drift=level_drift(y, e, shock, level, phi, kappa),
    )


def _sum(values: Numbers, axis: int) -> Floats:
    return np.asarray(values.sum(axis=axis, dtype=np.float64))


def _neighbours(
    y: Numbers, e: Numbers, shock: Floats
) -> tuple[Numbers, Numbers, Numbers]:
    """Return, for neighbouring looks: y1 e0 - y0 e1, e1 e0, e1 + e0."""
    here = e * shock.astype(e.dtype)[:, :, None]
    difference = y[1:] * here[:-1]
    difference -= y[:-1] * here[1:]
    return difference, here[1:] * here[:-1], here[1:] + here[:-1]


def _scale(product: Numbers, total: Numbers) -> Numbers:
    """Return what squares and counts are divided by; above 0 where nothing is."""
    scale = product + product
    scale += total
    scale *= total
    scale += np.finfo(scale.dtype).tiny
    return scale


def _dispersion(y: Numbers, e: Numbers, shock: Floats) -> Floats:
    # With g = e1 e0 / (e1 + e0): q = (y1/e1 - y0/e0)^2 g, r = (y1 + y0) / (e1 + e0) and
    # the weight g / (1 + 2 g); written so that nothing is divided by a single e.
    difference, product, total = _neighbours(y, e, shock)
    scale = _scale(product, total)
    difference *= difference
    difference /= scale
    product /= scale
    product *= y[1:] + y[:-1]
    squares, counts = (_sum(_sum(x, axis=2), axis=0) for x in (difference, product))
    raw = (squares + N_PAIRS * START_DISPERSION) / (counts + N_PAIRS)
    return np.asarray(np.maximum(1.0, raw))


def dispersion_weight(y: Numbers, e: Numbers, fit: QuietFleet) -> float:
    """Return how much (T, N) counts say about the dispersion: pairs of looks, about."""
    _, product, total = _neighbours(y[:, None], e[:, None], fit.shock[:, None])
    counts = product * (y[1:] + y[:-1])[:, None]
    return float((counts / _scale(product, total)).sum())


def level_variance(n: Floats, expected: Floats, phi: Floats, v: Floats) -> Floats:
    """Return the variance of levels (B,) by moments, two rounds on from `v`.

    Parameters
    ----------
    n, expected : array of float, shape (B, N)
    phi, v : array of float, shape (B,)
    """
    excess = (n - expected) ** 2 - phi[:, None] * expected
    for _ in range(2):
        weight = 1 / (phi[:, None] + v[:, None] * expected) ** 2
        above = (weight * excess).sum(axis=1) + PRIOR_STRATA * START_VARIANCE
        below = (weight * expected**2).sum(axis=1) + PRIOR_STRATA
        v = np.clip(above / below, *VARIANCE_LIMITS)
    return v


def _shock_variance(n: Floats, expected: Floats, phi: Floats, tau2: Floats) -> Floats:
    excess = (n - expected) ** 2 - phi * expected
    for _ in range(2):
        weight = 1 / (phi + tau2 * expected) ** 2
        below = (weight * expected**2).sum(axis=0)
        below += 2 / np.maximum(tau2, LEAST_SHOCK_VARIANCE) ** 2
        tau2 = np.clip((weight * excess).sum(axis=0) / below, *SHOCK_VARIANCE_LIMITS)
    return tau2


def _look_shock(
    y: Numbers, e: Numbers, shock: Floats, level: Floats
) -> tuple[Floats, Floats]:
    """Regress squared differences on mean and squared mean: (phi, kappa)."""
    difference, product, total = _neighbours(y, e, shock)
    total += np.finfo(total.dtype).tiny
    g = product / total
    # q = difference^2 / (product total); where the product is 0 so is the weight.
    product *= total
    product += np.finfo(product.dtype).tiny
    difference *= difference
    difference /= product
    damping = 1 + LOOK_SHOCK_WEIGHT * g
    damping *= damping
    damping *= 1 + 2 * g
    weight = g / damping
    n1, q1 = _sum(weight, axis=0), _sum(weight * difference, axis=0)
    weight *= g
    n2, q2 = 2 * _sum(weight, axis=0), 2 * _sum(weight * difference, axis=0)
    weight *= g
    n3 = 4 * _sum(weight, axis=0)
    s11 = (n1 * level**2).sum(axis=1) + N_PAIRS
    s12 = (n2 * level**3).sum(axis=1)
    s22 = (n3 * level**4).sum(axis=1) + 1
    q1 = (q1 * level).sum(axis=1) + N_PAIRS * START_DISPERSION
    q2 = (q2 * level**2).sum(axis=1)
    kappa = np.clip((q2 * s11 - q1 * s12) / (s11 * s22 - s12**2), 0.0, 1.0)
    return np.maximum(1.0, (q1 - s12 * kappa) / s11), kappa
