"""Simulated quiet fleets, watched block by block as the real one is.

Columns are strata of replicates: the N strata of the first replicate, then those of the
next. Thresholds are set for one block of looks after the other, since what has raised
an alarm restarts and is silent for some of the next block.
"""

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import (
    VARIANCE_LIMITS,
    Numbers,
    QuietFleet,
    fit_batch,
)
from analytics.statistics.quiet_scaling import look_totals, shocked_looks
from analytics.statistics.watch_windows import (
    SILENCE,
    Indices,
    RunningSums,
    all_evidence,
    evidence_at,
    running_sums,
)

BLOCK = 12  # looks
LIVE_BLOCK = 3  # of the last: in a growing fleet twelve ran too high
LEAST_THRESHOLD = 0.5
CHUNK_CELLS = 400_000  # looks x replicates x strata at a time

Rebuild = Callable[[Numbers], Numbers]
Cells = tuple[Indices, Indices, Numbers]  # look, column, evidence


class Simulation:
    """Replicates of one family: their evidence, and what has raised an alarm."""

    def __init__(
        self, n_looks: int, n_columns: int, chunks: Iterable[tuple[Numbers, Numbers]]
    ) -> None:
        """Fit each chunk of failures and expected ones, (T, B, N) and the like."""
        self.sums = RunningSums(
            failures=np.zeros((n_looks + 1, n_columns), dtype=np.float32),
            expected=np.zeros((n_looks + 1, n_columns), dtype=np.float32),
            n_here=np.zeros((n_looks, n_columns), dtype=np.uint8),
            alpha=np.zeros((n_looks + 1, n_columns), dtype=np.float32),
            beta=np.zeros((n_looks + 1, n_columns), dtype=np.float32),
            drift=np.zeros(n_columns, dtype=np.float32),
        )
        self.restart = np.zeros(n_columns, dtype=np.intp)
        self._silent_to = np.full(n_columns, -1)
        cells, start = [], 0
        for y, e in chunks:
            sums = _sums_of(y, e)
            look, column, evidence = all_evidence(sums)
            # Short integers: there are millions of cells, and they sort faster.
            cells.append(
                (
                    look.astype(np.int16),
                    (column + start).astype(np.int32),
                    evidence.astype(np.float32),
                )
            )
            part = slice(start, start + len(sums.drift))
            self.sums.failures[:, part] = sums.failures
            self.sums.expected[:, part] = sums.expected
            self.sums.n_here[:, part] = sums.n_here
            self.sums.alpha[:, part] = sums.alpha
            self.sums.beta[:, part] = sums.beta
            self.sums.drift[part] = sums.drift
            start = part.stop
        look = np.concatenate([one[0] for one in cells])
        order = np.argsort(look, kind="stable")
        self._look = look[order]
        self._column = np.concatenate([one[1] for one in cells])[order]
        self._evidence = np.concatenate([one[2] for one in cells])[order]

    def cells(self, first: int, last: int) -> Cells:
        """Return what may raise an alarm in looks first to last - 1, in their order."""
        low, high = np.searchsorted(self._look, [first, last])
        look = self._look[low:high].astype(np.intp)
        column = self._column[low:high].astype(np.intp)
        evidence = self._evidence[low:high]
        fresh = self.restart[column] == 0
        again = np.flatnonzero((self.restart > 0) & (self._silent_to < last - 1))
        rows, where = np.nonzero(self.sums.n_here[first:last, again])
        rows += first
        renewed, _ = evidence_at(
            self.sums, rows, again[where], self.restart[again[where]]
        )
        able = (rows > self._silent_to[again[where]]) & (renewed > 0)
        looks = np.concatenate([look[fresh], rows[able]])
        order = np.argsort(looks, kind="stable")
        return (
            looks[order],
            np.concatenate([column[fresh], again[where][able]])[order],
            np.concatenate([evidence[fresh], renewed[able]])[order],
        )

    def alarm(self, look: Indices, column: Indices) -> None:
        """Restart and silence columns that raise an alarm."""
        self.restart[column] = look + 1
        self._silent_to[column] = look + SILENCE


def _sums_of(y: Numbers, e: Numbers) -> RunningSums:
    n_looks, _, n_strata = y.shape
    fit = fit_batch(y, e)
    m, spread = shocked_looks(y, e, fit, look_totals(y, e, fit))
    prior = np.repeat(1 / fit.level_variance, n_strata)
    return running_sums(
        y.reshape(n_looks, -1),
        m.reshape(n_looks, -1),
        spread.reshape(n_looks, -1),
        prior,
        np.repeat(fit.level_drift, n_strata),
    )


def blocks_of(n_looks: int, first_live: int) -> list[tuple[int, int]]:
    """Return blocks (first, last + 1) of live looks, counted back from the last."""
    blocks, last, length = [], n_looks, LIVE_BLOCK
    while last > first_live:
        blocks.append((max(last - length, first_live), last))
        last, length = last - length, BLOCK
    return blocks[::-1]


def largest_by_column(cells: Cells) -> tuple[Indices, Numbers]:
    """Return each column's largest evidence, strongest first."""
    _, column, evidence = cells
    order = np.argsort(-evidence, kind="stable")
    columns, first = np.unique(column[order], return_index=True)
    again = np.argsort(first)
    return columns[again], evidence[order][np.sort(first)]


def first_crossings(cells: Cells, threshold: float) -> Cells:
    """Return the first cell of each column at or above a threshold."""
    look, column, evidence = cells
    above = evidence >= threshold
    columns, first = np.unique(column[above], return_index=True)
    return look[above][first], columns, evidence[above][first]


def threshold_at(largest: Numbers, rank: int) -> float:
    """Return the evidence that the strongest `rank` columns reach."""
    if len(largest) < rank:
        return LEAST_THRESHOLD
    return max(LEAST_THRESHOLD, float(largest[rank - 1]))


def drawn_chunks(
    expected: Floats,
    fit: QuietFleet,
    n_draws: int,
    rng: np.random.Generator,
    rebuild: Rebuild | None,
) -> Iterable[tuple[Numbers, Numbers]]:
    """Draw quiet fleets on expected failures (T, N), some replicates at a time."""
    e = expected.astype(np.float32)
    at_once = max(1, CHUNK_CELLS // max(e.size, 1))
    for start in range(0, n_draws, at_once):
        y = draw_quiet(e, fit, min(at_once, n_draws - start), rng)
        if rebuild is None:
            yield y, e[:, None]
        else:
            yield y, np.asarray(rebuild(y), dtype=np.float32)


def level_walks(
    drift: float, shape: tuple[int, int, int], rng: np.random.Generator
) -> NDArray[np.float32]:
    """Draw levels that wander from look to look, (T, B, N), with mean 1."""
    steps = rng.standard_normal(shape, dtype=np.float32)
    steps *= np.float32(np.sqrt(drift))
    steps -= np.float32(drift / 2)
    return np.asarray(np.exp(np.cumsum(steps, axis=0)))


def draw_quiet(
    expected: NDArray[np.float32],
    fit: QuietFleet,
    n_draws: int,
    rng: np.random.Generator,
) -> NDArray[np.float32]:
    """Draw failures (T, B, N) of quiet fleets with the scatter of a fit."""
    n_looks, n_strata = expected.shape
    drift, tau2 = float(fit.level_drift), float(fit.shock_variance)
    # Levels that drift have grown apart by half of their steps on average.
    v = max(float(fit.level_variance) - drift * n_looks / 2, VARIANCE_LIMITS[0])
    level = rng.gamma(1 / v, v, (n_draws, n_strata))
    shock = rng.gamma(1 / tau2, tau2, (n_looks, n_draws))
    look, stratum = np.nonzero(expected)
    m = shock[look] * level[:, stratum].T * expected[look, stratum, None]
    if drift > 0:
        m *= level_walks(drift, (n_looks, n_draws, n_strata), rng)[look, :, stratum]
    kappa, phi = float(fit.look_shock), float(fit.dispersion)
    if kappa > 0:
        m *= kappa * rng.standard_gamma(1 / kappa, m.shape, dtype=np.float32)
    if phi > 1:
        m = (phi - 1) * rng.standard_gamma(m / (phi - 1))
    y = np.zeros((n_looks, n_draws, n_strata), dtype=np.float32)
    y[look, :, stratum] = rng.poisson(m)
    return y
