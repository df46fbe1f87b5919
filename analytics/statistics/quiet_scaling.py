"""Failures of a quiet fleet, scaled so that they scatter as Poisson counts do."""

from dataclasses import dataclass

import numpy as np

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import Numbers, QuietFleet

# Beyond, one stratum tells next to nothing of the look's shock, and all may share it.
MANY_STRATA = 2000


@dataclass(frozen=True, slots=True, eq=False)
class LookTotals:
    """What all strata together show of the shock of each look."""

    n_failures: Floats  # (T, 1) or (T, B, 1)
    n_expected: Floats  # times the levels
    is_shared: bool  # so many strata that each may count towards its own shock


def look_totals(y: Numbers, e: Numbers, fit: QuietFleet) -> LookTotals:
    """Add up the strata of (T, N), or of (T, B, N) for a batched fit."""
    n_strata, level = e.shape[-1], fit.level.astype(e.dtype)
    expected = np.einsum("...n,...n->...", e, level)[..., None]
    # Empty strata do not count: adding one must change nothing.
    is_shared = n_strata > MANY_STRATA and bool(
        np.count_nonzero((e > 0).reshape(-1, n_strata).any(axis=0)) > MANY_STRATA
    )
    return LookTotals(
        n_failures=y.sum(axis=-1, dtype=np.float64)[..., None],
        n_expected=expected.astype(np.float64),
        is_shared=is_shared,
    )


def shocked_looks(
    y: Numbers,
    e: Numbers,
    fit: QuietFleet,
    totals: LookTotals,
    part: slice = slice(None),
) -> tuple[Numbers, Numbers]:
    """Return expected failures with the look's shock, and what scales them.

    Parameters
    ----------
    y, e : array of float, shape (T, N) or (T, B, N)
        The strata of `part` only.
    fit : QuietFleet
    totals : LookTotals
        Of all strata.
    part : slice
        Which strata these are.

    Returns
    -------
    shocked, spread : array of float, shape of `y`
        Expected ones with the shock, as the other strata show it; failures and expected
        ones over `spread` scatter as Poisson counts do. The stratum's own level is in
        neither.
    """
    kind = y.dtype
    phi, kappa, tau2 = (
        np.asarray(value)[..., None]
        for value in (fit.dispersion, fit.look_shock, fit.shock_variance)
    )
    all_precision = (1 / tau2 + totals.n_expected / phi).astype(kind)
    phi, kappa = phi.astype(kind), kappa.astype(kind)
    if totals.is_shared:
        m = e * fit.shock[..., None].astype(kind)
        spread = m * (1 / all_precision + kappa)
    else:
        precision = all_precision - e * (fit.level[..., part].astype(kind) / phi)
        m = (1 / tau2 + totals.n_failures / phi).astype(kind) - y / phi
        m *= e
        m /= precision
        spread = m * (1 / precision + kappa)
    spread += phi
    return m, spread
