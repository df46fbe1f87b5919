"""Quiet fleets drawn failure by failure, so that families overlap as they really do.

Failures are drawn in the finest cells, mode x kind x look x age, at the rates of the
whole fleet, times a level of the cell's stratum in each family, times the shocks of the
looks. How much each family varies beyond the others comes from the families' fits.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, sparse

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import QuietFleet
from analytics.statistics.watch_simulation import level_walks
from analytics.statistics.watched_fleet import (
    FamilyTable,
    WatchedFleet,
    fleet_hazard,
)

ShortCodes = NDArray[np.int32]

LEAST_VARIANCE = 1e-3  # of a family beyond the others: less is none
# Failures are drawn at the rate of a high shock and thinned; what few shocks are
# higher still count as this one, which is found by drawing some.
SHOCK_TAIL, N_SHOCKS = 5e-4, 40_000


@dataclass(frozen=True, slots=True, eq=False)
class Scatter:
    """How the finest cells scatter: what each family adds."""

    level_variance: Floats  # u: (families,)
    look_shock: Floats  # (families,)
    level_drift: Floats
    dispersion: float
    shock_variance: float


@dataclass(frozen=True, slots=True, eq=False)
class DrawnFailures:
    """Failures of all replicates, in order of replicate, then look."""

    n_draws: int
    first: NDArray[np.intp]  # (B * T + 1,): where replicate b, look t starts: b T + t
    replicate: ShortCodes
    look: ShortCodes
    kind: ShortCodes
    age: ShortCodes
    mode: ShortCodes


def expected_of_cells(fleet: WatchedFleet) -> Floats:
    """Return the failures expected by mode and kind (M, K), over all looks."""
    by_kind = np.bincount(
        fleet.kind * fleet.n_ages + fleet.age,
        fleet.exposure,
        fleet.n_kinds * fleet.n_ages,
    ).reshape(fleet.n_kinds, fleet.n_ages)
    return np.asarray(fleet_hazard(fleet)[0] @ by_kind.T, dtype=np.float64)


def scatter_of(
    fleet: WatchedFleet,
    tables: list[FamilyTable],
    fits: list[QuietFleet],
    weight: list[float],
) -> Scatter:
    """Share the variance that the families see among them.

    Parameters
    ----------
    fleet : WatchedFleet
    tables, fits : list
        One per family, none without strata.
    weight : list of float
        How much each family's dispersion is to count.

    Returns
    -------
    Scatter

    Notes
    -----
    A stratum of family F that is spread over many strata of G sees little of their
    levels: v_F = sum over G of C_FG u_G, with C_FG the mean over strata of F, weighted
    as in the fit, of the sum of squared shares in the strata of G. Solved by least
    squares with u not negative; the look shocks alike.
    """
    cells = expected_of_cells(fleet)
    mode, kind = np.nonzero(cells)
    n = cells[mode, kind]
    strata = [table.stratum(mode, kind) for table in tables]
    seen = np.zeros((len(tables), len(tables)))
    for i, (own, fit) in enumerate(zip(strata, fits, strict=True)):
        e = np.bincount(own, n, len(fit.level))
        v, phi = float(fit.level_variance), float(fit.dispersion)
        w = (e / (phi + v * e)) ** 2
        for j, other in enumerate(strata):
            shape = (len(e), len(fits[j].level))
            share = sparse.coo_array((n / e[own], (own, other)), shape=shape).tocsr()
            squares: Floats = np.asarray(share.power(2).sum(axis=1)).ravel()
            seen[i, j] = (w * squares).sum() / w.sum()
    scale = np.sqrt([len(fit.level) for fit in fits])

    def shared(name: str, least: float = LEAST_VARIANCE) -> Floats:
        values = np.array([float(getattr(fit, name)) for fit in fits])
        found, _ = optimize.nnls(seen * scale[:, None], values * scale)
        return np.where(found > least, found, 0.0)

    phis = np.array([float(fit.dispersion) for fit in fits])
    counts = np.asarray(weight) + np.finfo(np.float64).tiny
    return Scatter(
        level_variance=shared("level_variance"),
        look_shock=shared("look_shock"),
        level_drift=shared("level_drift", LEAST_VARIANCE / fleet.n_looks),
        dispersion=float((phis * counts).sum() / counts.sum()),
        shock_variance=float(np.median([float(fit.shock_variance) for fit in fits])),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Scene:
    """What one draw holds fixed: rows of exposure by kind, levels and shocks."""

    order: NDArray[np.intp]  # rows by kind
    start: NDArray[np.intp]  # (K + 1,)
    levels: list[tuple[FamilyTable, Floats]]  # (B, N)
    shocks: list[tuple[FamilyTable, NDArray[np.float32]]]  # (B, N, T)
    by_look: Floats  # (B, T): shock of the look over the rate drawn at
    highest: Floats  # (B,): the rate drawn at, over the expected one
    clusters: float  # per failure expected


def draw_failures(
    fleet: WatchedFleet,
    tables: list[FamilyTable],
    scatter: Scatter,
    n_draws: int,
    rng: np.random.Generator,
) -> DrawnFailures:
    """Draw the failures of quiet fleets, mode by mode.

    Parameters
    ----------
    fleet : WatchedFleet
        Real exposures and rates.
    tables : list of FamilyTable
    scatter : Scatter
    n_draws : int
    rng : numpy.random.Generator

    Returns
    -------
    DrawnFailures
    """
    scene = _scene(fleet, tables, scatter, n_draws, rng)
    hazard, expected = fleet_hazard(fleet)[0], expected_of_cells(fleet)
    drawn = [
        _draw_mode(fleet, scene, mode, hazard[mode], expected[mode], rng)
        for mode in np.flatnonzero(expected.sum(axis=1))
    ]
    # Short integers: there are millions of failures, and they sort faster.
    replicate, row, modes = (
        np.concatenate([np.zeros(0, dtype=np.int32), *[one[i] for one in drawn]])
        for i in range(3)
    )
    if scatter.dispersion > 1:
        size = rng.logseries(1 - 1 / scatter.dispersion, len(row))
        replicate, row, modes = (np.repeat(x, size) for x in (replicate, row, modes))
    look = fleet.look[row].astype(np.int16)
    order = np.argsort(look, kind="stable")
    order = order[np.argsort(replicate[order].astype(np.int16), kind="stable")]
    replicate, row, look = replicate[order], row[order], look[order].astype(np.int32)
    n = np.bincount(replicate * fleet.n_looks + look, minlength=n_draws * fleet.n_looks)
    return DrawnFailures(
        n_draws=n_draws,
        first=np.concatenate([[0], np.cumsum(n)]),
        replicate=replicate,
        look=look,
        kind=fleet.kind[row].astype(np.int32),
        age=fleet.age[row].astype(np.int32),
        mode=modes[order],
    )


def _scene(
    fleet: WatchedFleet,
    tables: list[FamilyTable],
    scatter: Scatter,
    n_draws: int,
    rng: np.random.Generator,
) -> _Scene:
    levels, shocks = [], []
    tau2, phi = scatter.shock_variance, scatter.dispersion
    by_look = rng.gamma(1 / tau2, tau2, (n_draws, fleet.n_looks))
    products = np.ones(N_SHOCKS)
    for table, u, kappa, drift in zip(
        tables,
        scatter.level_variance,
        scatter.look_shock,
        scatter.level_drift,
        strict=True,
    ):
        shape = (n_draws, len(table.strata))
        # Levels that drift have grown apart by half of their steps on average.
        grown = drift * fleet.n_looks / 2
        if u > grown:
            levels.append((table, rng.gamma(1 / (u - grown), u - grown, shape)))
        if drift > 0:
            # Drawn at its highest, and thinned like a shock.
            walk = level_walks(drift, (fleet.n_looks, *shape), rng).transpose(1, 2, 0)
            top = walk.max(axis=2)
            levels.append((table, top.astype(np.float64)))
            shocks.append((table, np.ascontiguousarray(walk / top[:, :, None])))
        if kappa > 0:
            shock = rng.standard_gamma(
                1 / kappa, (*shape, fleet.n_looks), dtype=np.float32
            )
            shocks.append((table, shock * np.float32(kappa)))
            products *= rng.gamma(1 / kappa, kappa, N_SHOCKS)
    highest = by_look.max(axis=1) * np.quantile(products, 1 - SHOCK_TAIL)
    counts = np.bincount(fleet.kind, minlength=fleet.n_kinds)
    return _Scene(
        order=np.argsort(fleet.kind, kind="stable"),
        start=np.concatenate([[0], np.cumsum(counts)]),
        levels=levels,
        shocks=shocks,
        by_look=by_look / highest[:, None],
        highest=highest,
        clusters=np.log(phi) / (phi - 1) if phi > 1 else 1.0,
    )


def _draw_mode(
    fleet: WatchedFleet,
    scene: _Scene,
    mode: np.intp,
    hazard: Floats,
    expected: Floats,
    rng: np.random.Generator,
) -> tuple[ShortCodes, ShortCodes, ShortCodes]:
    """Return replicate and row of exposure of one mode's clusters, and the mode."""
    kinds = np.flatnonzero(expected)
    rate = scene.highest[:, None] * expected[kinds]
    for table, level in scene.levels:
        rate *= np.take(level, table.stratum(mode, kinds), axis=1)
    above = np.cumsum(rate)
    n = rng.poisson(above[-1] * scene.clusters)
    # Sorted, so that neighbours are looked up one after the other.
    place = np.searchsorted(above, np.sort(rng.random(n)) * above[-1], side="right")
    place = np.minimum(place, above.size - 1)
    replicate, kind = place // len(kinds), kinds[place % len(kinds)]
    weight = (hazard[fleet.age] * fleet.exposure)[scene.order]
    so_far = np.concatenate([[0.0], np.cumsum(weight)])
    low, high = so_far[scene.start[kind]], so_far[scene.start[kind + 1]]
    spot = low + rng.random(n) * (high - low)
    at = np.searchsorted(so_far, spot, side="right") - 1
    at = np.clip(at, scene.start[kind], scene.start[kind + 1] - 1)
    row = scene.order[at]
    look = fleet.look[row]
    chance = scene.by_look[replicate, look]
    for table, shock in scene.shocks:
        chance *= shock[replicate, table.stratum(mode, kind), look]
    # A row without exposure can be met by rounding only.
    kept = (rng.random(n) < chance) & (weight[at] > 0)
    return (
        replicate[kept].astype(np.int32),
        row[kept].astype(np.int32),
        np.full(int(kept.sum()), mode, dtype=np.int32),
    )
