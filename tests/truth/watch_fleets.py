"""Fleets in which nothing changes, or something known does, as the watch counts them.

A stratum is what is watched (a lot, a mode with a supplier); a look is a month. Half
of the strata start later, by up to all looks but a year's; the failures expected of one
a look are spread evenly on a log scale. What the looks count has the mean

    expected * level of the stratum * shock of the look (* a step, or a drift)

with gamma levels and shocks of mean 1. Beyond the mean: clusters (variance = dispersion
times mean), and a gamma shock of one stratum in one look, of mean 1 and variance
`look_variance`.

Where the expected number is estimated, each stratum is of one of ten modes, and the
hazard of a mode at an age (in years) is what the fleet itself shows.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analytics.statistics.counts import Floats

YEAR = 12  # looks
N_MODES = 10
Counts = Floats  # whole numbers, as the watch takes them


@dataclass(frozen=True, slots=True)
class WatchPlan:
    """How a fleet is drawn, and what the watch promises for it."""

    n_strata: int
    n_looks: int
    smallest: float  # expected failures of a stratum a look
    largest: float
    per_year: float  # false alarms stated
    level_cv: float = 0.0
    dispersion: float = 1.0
    shock_cv: float = 0.0
    look_variance: float = 0.0
    drift_sd: float = 0.0  # of a stratum's level from look to look, on the log scale
    is_estimated: bool = False


@dataclass(frozen=True, slots=True)
class Drawn:
    """Looks x strata; `exposure` is what would be expected at a hazard of 1."""

    n_failures: Counts
    exposure: Floats
    cell: Any  # (T, N) of int: mode and age
    n_cells: int
    is_estimated: bool

    def n_expected(self, n_looks: int | None = None) -> Floats:
        """Return what is expected, from the first so many looks alone."""
        rows = slice(n_looks)
        if not self.is_estimated:
            return self.exposure[rows]
        return self.rebuilt(self.n_failures[rows])

    def rebuilt(self, n_failures: Counts) -> Floats:
        """Return what would be expected had these failures come, (T, N) or (T, B, N).

        The first looks may stand alone.
        """
        counts = np.asarray(n_failures, dtype=float)
        n_looks = len(counts)
        draws = counts.reshape(n_looks, -1, counts.shape[-1])
        cell, exposure = self.cell[:n_looks], self.exposure[:n_looks]
        at_risk = np.bincount(cell.ravel(), exposure.ravel(), self.n_cells)
        expected = np.empty_like(draws)
        for number in range(draws.shape[1]):
            failed = draws[:, number].ravel()
            failed = np.bincount(cell.ravel(), failed, self.n_cells)
            hazard = np.divide(
                failed, at_risk, out=np.zeros_like(failed), where=at_risk > 0
            )
            expected[:, number] = exposure * hazard[cell]
        return expected.reshape(counts.shape)

    def rebuilder(self) -> Callable[[Counts], Floats] | None:
        return self.rebuilt if self.is_estimated else None


def draw_quiet(
    plan: WatchPlan,
    rng: np.random.Generator,
    *,
    exposure: Floats | None = None,
    change: Floats | float = 1.0,
) -> Drawn:
    """Return a fleet; `change` multiplies the mean (1: quiet), (T, N) or a number."""
    shape = plan.n_looks, plan.n_strata
    if exposure is None:
        exposure = draw_exposure(plan, rng)
    mean = exposure * gamma_of_mean_one(plan.level_cv**2, plan.n_strata, rng)
    mean *= gamma_of_mean_one(plan.shock_cv**2, plan.n_looks, rng)[:, None]
    mean *= gamma_of_mean_one(plan.look_variance, shape, rng) * change
    if plan.drift_sd:
        steps = plan.drift_sd * rng.standard_normal(shape)
        mean *= np.exp(np.cumsum(steps - plan.drift_sd**2 / 2, axis=0))
    if plan.dispersion > 1:
        spread = plan.dispersion - 1
        mean = spread * rng.standard_gamma(mean / spread)
    cell, n_cells = _cells(exposure)
    n_failures = rng.poisson(mean).astype(float)
    return Drawn(n_failures, exposure, cell, n_cells, plan.is_estimated)


def draw_exposure(plan: WatchPlan, rng: np.random.Generator) -> Floats:
    """Return what is expected of each stratum at each look, 0 before it starts."""
    low, high = np.log([plan.smallest, plan.largest])
    rate = np.exp(rng.uniform(low, high, plan.n_strata))
    is_late = rng.random(plan.n_strata) < 1 / 2
    latest = max(plan.n_looks - YEAR, 1)
    start = np.where(is_late, rng.integers(0, latest, plan.n_strata), 0)
    return rate * (np.arange(plan.n_looks)[:, None] >= start)


def gamma_of_mean_one(variance: float, size: Any, rng: np.random.Generator) -> Floats:
    if variance == 0:
        return np.ones(size)
    return rng.gamma(1 / variance, variance, size)


def _cells(exposure: Floats) -> tuple[Any, int]:
    n_looks, n_strata = exposure.shape
    years = -(-n_looks // YEAR)
    age = np.cumsum(exposure > 0, axis=0) - 1
    mode = np.arange(n_strata) % N_MODES
    return mode * years + np.maximum(age, 0) // YEAR, N_MODES * years


SCENARIOS: dict[str, dict[str, Any]] = {
    "a": {},
    "b": {"level_cv": 0.3},
    "c1": {"dispersion": 1.5},
    "c2": {"shock_cv": 0.2},
    "d": {"level_cv": 0.3, "dispersion": 1.5, "shock_cv": 0.2},
}
SCENARIOS["e"] = SCENARIOS["d"] | {"is_estimated": True}
SCENARIOS["b, own shocks"] = SCENARIOS["b"] | {"look_variance": 0.25}
SCENARIOS["d, own shocks"] = SCENARIOS["d"] | {"look_variance": 0.1}
SCENARIOS["b, drift"] = SCENARIOS["b"] | {"drift_sd": 0.03}
SCENARIOS["d, drift"] = SCENARIOS["d"] | {"drift_sd": 0.03}

# Strata x looks, thin (at most half a failure expected a look) or wide.
PLANS = {
    "8 x 24": WatchPlan(8, 24, 0.1, 20, 0.5),
    "50 x 24": WatchPlan(50, 24, 0.02, 20, 1),
    "50 x 24 thin": WatchPlan(50, 24, 0.02, 0.5, 1),
    "500 x 60": WatchPlan(500, 60, 0.02, 20, 4),
    "500 x 60 thin": WatchPlan(500, 60, 0.02, 0.5, 4),
    "5000 x 156": WatchPlan(5000, 156, 0.02, 20, 4),
}


def plan_of(size: str, scenario: str) -> WatchPlan:
    return replace(PLANS[size], **SCENARIOS[scenario])
