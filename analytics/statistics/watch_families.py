"""The watch over several families at once: one threshold each, none counted twice.

The same failures lie in a stratum of every family, so that one excess raises alarms in
several. Quiet fleets are therefore drawn once for all families, and each family's
threshold is set on the alarms that are left after joining those which show the same
cases.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import (
    START_DISPERSION,
    START_SHOCK_VARIANCE,
    START_VARIANCE,
    Numbers,
    QuietFleet,
    dispersion_weight,
    fit_quiet_fleet,
)
from analytics.statistics.watch_joint import DrawnFailures, draw_failures, scatter_of
from analytics.statistics.watch_merged import MergedWatch
from analytics.statistics.watch_simulation import CHUNK_CELLS, Simulation, blocks_of
from analytics.statistics.watch_threshold import Calibration, calibrate
from analytics.statistics.watched_fleet import (
    Family,
    FamilyCounts,
    FamilyTable,
    WatchedFleet,
    checked_fleet,
    counts_of,
    expected_and_observed,
    family_table,
    hazard_of,
)

__all__ = [
    "FamiliesCalibration",
    "Family",
    "FamilyCounts",
    "WatchedFleet",
    "calibrate_families",
    "expected_and_observed",
]

LOOKS_PER_YEAR = 12
# What may be held at once, and how many rates are worth drawing from. Fewer fleets are
# drawn where they would be exceeded, and none together where too few would be left.
MOST_BYTES = 250_000_000
BYTES_OF_CELL, BYTES_OF_FAILURE = 10, 60
MOST_RATES = 200_000_000
LEAST_DRAWS = 60


@dataclass(frozen=True, slots=True, eq=False)
class FamiliesCalibration:
    """One threshold per family and look, and what simulated quiet fleets show."""

    counts: dict[str, FamilyCounts]
    fits: dict[str, QuietFleet]
    thresholds: dict[str, Floats]  # (T,) each: nan before the watch began
    calibrations: dict[str, Calibration]
    per_year: float
    n_draws: int  # fewer than asked for where they would not fit; 0 without strata
    # False: each family was simulated by itself, with its expected failures held. Then
    # alarms that show the same cases count twice, and the rate stated is an upper one.
    is_joint: bool

    def times_per_year(self, name: str, look: int, evidence: float) -> float:
        """Return how often a year a quiet fleet shows that much in the family."""
        return self.calibrations[name].times_per_year(look, evidence)


def calibrate_families(
    fleet: WatchedFleet,
    families: Sequence[Family],
    *,
    per_year: float,
    rng: np.random.Generator,
    n_draws: int = 240,
    first_live: int = 0,
) -> FamiliesCalibration:
    """Fit families and set their thresholds from one simulation of the fleet.

    Parameters
    ----------
    fleet : WatchedFleet
    families : sequence of Family
        Each sorts all failures; names differ.
    per_year : float
        False alarms a year over all families, those that show the same cases counted
        once; every family has an equal share.
    rng : numpy.random.Generator
    n_draws : int, default 240
        Quiet fleets to simulate; fewer where memory for them is short.
    first_live : int, default 0
        The look at which the watch of this fleet began.

    Returns
    -------
    FamiliesCalibration
        A family without strata has no thresholds.

    Raises
    ------
    ValueError
        Codes that do not fit, failures without exposure, families of one name, a rate
        or a number of draws not above 0.

    Notes
    -----
    Expected failures are made again from each draw, as they come from the same data.
    """
    checked_fleet(fleet)
    names = [family.name for family in families]
    if len(set(names)) < len(names):
        raise ValueError(f"families must have names of their own, got {names}")
    if not (np.isfinite(per_year) and per_year > 0) or n_draws < 1:
        raise ValueError(
            f"per_year and n_draws must be above 0, got {per_year} and {n_draws}"
        )
    tables = [family_table(fleet, family) for family in families]
    counts = [counts_of(fleet, table) for table in tables]
    fits = [_fit(one) for one in counts]
    able = [i for i, one in enumerate(counts) if one.expected.shape[1]]
    share = per_year / max(len(able), 1)
    n = _draws_that_fit(fleet, [counts[i] for i in able], n_draws)
    is_joint = n >= min(n_draws, LEAST_DRAWS)
    found = {name: _none(fleet.n_looks, share) for name in names}
    if is_joint and able:
        joint = _joint(
            fleet,
            [tables[i] for i in able],
            [counts[i] for i in able],
            [fits[i] for i in able],
            (share, n, first_live),
            rng,
        )
        found |= {names[i]: one for i, one in zip(able, joint, strict=True)}
    else:
        found |= {
            names[i]: calibrate(
                counts[i].expected,
                fits[i],
                per_year=share,
                rng=rng,
                first_live=first_live,
                looks_per_year=LOOKS_PER_YEAR,
            )
            for i in able
        }
    return FamiliesCalibration(
        counts=dict(zip(names, counts, strict=True)),
        fits=dict(zip(names, fits, strict=True)),
        thresholds={name: one.threshold for name, one in found.items()},
        calibrations=found,
        per_year=float(per_year),
        n_draws=min((found[names[i]].n_draws for i in able), default=0),
        is_joint=is_joint,
    )


def _draws_that_fit(
    fleet: WatchedFleet, counts: list[FamilyCounts], n_draws: int
) -> int:
    n_cells = sum(one.expected.size for one in counts)
    size = BYTES_OF_CELL * n_cells + BYTES_OF_FAILURE * len(fleet.failure_mode)
    n_rates = fleet.n_modes * fleet.n_kinds
    return min(n_draws, MOST_BYTES // max(size, 1), MOST_RATES // max(n_rates, 1))


def _fit(counts: FamilyCounts) -> QuietFleet:
    n_looks, n_strata = counts.expected.shape
    if n_looks and n_strata:
        return fit_quiet_fleet(counts.observed, counts.expected)
    return QuietFleet(
        level_variance=np.asarray(START_VARIANCE),
        dispersion=np.asarray(START_DISPERSION),
        look_shock=np.asarray(0.0),
        shock_variance=np.asarray(START_SHOCK_VARIANCE),
        level=np.ones(n_strata),
        shock=np.ones(n_looks),
    )


def _none(n_looks: int, share: float) -> Calibration:
    return Calibration(
        threshold=np.full(n_looks, np.nan),
        n_draws=0,
        block=(),
        exceeding=(),
        per_year=share,
        looks_per_year=LOOKS_PER_YEAR,
        share=1.0,
    )


def _joint(
    fleet: WatchedFleet,
    tables: list[FamilyTable],
    counts: list[FamilyCounts],
    fits: list[QuietFleet],
    setting: tuple[float, int, int],
    rng: np.random.Generator,
) -> list[Calibration]:
    share, n_draws, first_live = setting
    weight = [
        dispersion_weight(one.observed.astype(np.float64), one.expected, fit)
        for one, fit in zip(counts, fits, strict=True)
    ]
    scatter = scatter_of(fleet, tables, fits, weight)
    failures = draw_failures(fleet, tables, scatter, n_draws, rng)
    strata = [
        table.stratum(failures.mode, failures.kind).astype(np.int32) for table in tables
    ]
    simulations = [
        Simulation(
            fleet.n_looks,
            n_draws * len(table.strata),
            _chunks(fleet, table, failures, own),
        )
        for table, own in zip(tables, strata, strict=True)
    ]
    n_strata = [len(table.strata) for table in tables]
    merged = MergedWatch(failures.first, strata, n_strata, simulations)
    thresholds = [np.full(fleet.n_looks, np.nan) for _ in tables]
    largest, blocks = [], blocks_of(fleet.n_looks, max(first_live, 0))
    for first, last in blocks:
        rank = max(1, round(share * (last - first) / LOOKS_PER_YEAR * n_draws))
        levels, shown = merged.set_thresholds(first, last, rank)
        for threshold, level in zip(thresholds, levels, strict=True):
            threshold[first:last] = level
        largest.append(shown)
    return [
        Calibration(
            threshold=threshold,
            n_draws=n_draws,
            block=tuple(blocks),
            exceeding=tuple(shown[i] for shown in largest),
            per_year=share,
            looks_per_year=LOOKS_PER_YEAR,
            share=1.0,
        )
        for i, threshold in enumerate(thresholds)
    ]


def _chunks(
    fleet: WatchedFleet,
    table: FamilyTable,
    failures: DrawnFailures,
    stratum: NDArray[np.int32],
) -> Iterator[tuple[Numbers, Numbers]]:
    """Count a family's drawn failures and make its expected ones from them."""
    n_looks, n_strata = fleet.n_looks, len(table.strata)
    at_once = max(1, CHUNK_CELLS // max(n_looks * n_strata, 1))
    for start in range(0, failures.n_draws, at_once):
        stop = min(start + at_once, failures.n_draws)
        part = slice(failures.first[start * n_looks], failures.first[stop * n_looks])
        replicate, n = failures.replicate[part] - start, stop - start
        cells = (failures.look[part] * n + replicate) * n_strata + stratum[part]
        y = np.bincount(cells, minlength=n_looks * n * n_strata)
        hazard = hazard_of(
            fleet, failures.mode[part], failures.age[part], replicate, n
        ).astype(np.float32)
        yield (
            y.reshape(n_looks, n, n_strata).astype(np.float32),
            table.expected(hazard),
        )
