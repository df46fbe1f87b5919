"""How much evidence raises an alarm, so that false ones come as often as stated."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import Numbers, QuietFleet
from analytics.statistics.watch_simulation import (
    Rebuild,
    Simulation,
    blocks_of,
    drawn_chunks,
    first_crossings,
    largest_by_column,
    threshold_at,
)

LIVE_ALARMS = 50  # simulated ones that set the threshold of the live block
MANY_STRATA = 1000
LEAST_DRAWS = 20
MOST_CELLS = 15_000_000  # looks x strata x replicates, unless draws are given


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """Thresholds by look, and what simulated quiet fleets show."""

    threshold: Floats  # (T,): nan before the watch began
    n_draws: int
    block: tuple[tuple[int, int], ...]  # looks first to last + 1, one after the other
    exceeding: tuple[Numbers, ...]  # per block: largest evidence, strongest first
    per_year: float
    looks_per_year: float
    share: float  # of the strata that were simulated

    def times_per_year(self, look: int, evidence: float) -> float:
        """Return how often a year a quiet fleet shows that much, or more.

        Looks that were not watched count as the first block does; nan without any.
        """
        if not self.block:
            return float("nan")
        index = 0
        for i, (first, _) in enumerate(self.block):
            if look >= first:
                index = i
        first, last = self.block[index]
        n = int(np.searchsorted(-self.exceeding[index], -evidence, side="right"))
        years = self.n_draws * (last - first) / self.looks_per_year
        return n / years / self.share


def calibrate(
    n_expected: ArrayLike,
    fit: QuietFleet,
    *,
    per_year: float,
    rng: np.random.Generator,
    n_draws: int | None = None,
    first_live: int = 0,
    looks_per_year: float = 12,
    rebuild: Rebuild | None = None,
) -> Calibration:
    """Set thresholds by watching simulated quiet fleets, estimation included.

    Parameters
    ----------
    n_expected : array of float, shape (T, N)
        Failures expected by look and stratum.
    fit : QuietFleet
        What the fleet scatters like.
    per_year : float
        False alarms a year, over all strata.
    rng : numpy.random.Generator
    n_draws : int, optional
        Quiet fleets to simulate; left out: so many that 50 alarms set the threshold of
        the last looks, as far as 15 million cells allow.
    first_live : int, default 0
        The look at which the watch of this fleet began: no threshold, no restart and no
        silence before it.
    looks_per_year : float, default 12
    rebuild : callable, optional
        Returns the expected failures that simulated ones (T, B, N) would have given,
        where they come from the same data.

    Returns
    -------
    Calibration

    Raises
    ------
    ValueError
        A rate or a number of draws that is not above 0, expected failures that are
        negative or not looks by strata.

    Notes
    -----
    Blocks of 12 looks, counted back from a last one of 3 looks. In each the threshold
    is the evidence that as many columns reach as alarms are allowed (Gandy and Kvaloy
    2013, from memory, on setting limits by simulation of the estimates), at least 0.5.
    Above 1 000 strata a random thousand is simulated at its share of the rate.
    """
    e = _checked_expected(n_expected)
    if not (np.isfinite(per_year) and per_year > 0 and looks_per_year > 0):
        raise ValueError(f"per_year must be finite and above 0, got {per_year}")
    if n_draws is not None and n_draws < 1:
        raise ValueError(f"n_draws must be at least 1, got {n_draws}")
    threshold, blocks = np.full(len(e), np.nan), blocks_of(len(e), max(first_live, 0))
    strata, share = np.flatnonzero(e.any(axis=0)), 1.0
    if len(strata) > MANY_STRATA and rebuild is None:
        share = MANY_STRATA / len(strata)
        strata = np.sort(rng.choice(strata, MANY_STRATA, replace=False))
    # A rebuilding caller knows its strata by their places: none is left out for it.
    part = e if rebuild is not None else e[:, strata]
    if not blocks or not len(strata):
        return Calibration(
            threshold, 0, (), (), float(per_year), float(looks_per_year), share
        )
    rate = per_year * share / looks_per_year  # alarms a look and replicate
    n = n_draws or _n_draws(rate, blocks[-1], part.size)
    chunks = drawn_chunks(part, fit, n, rng, rebuild)
    simulation = Simulation(len(e), n * part.shape[1], chunks)
    exceeding = []
    for first, last in blocks:
        cells = simulation.cells(first, last)
        _, largest = largest_by_column(cells)
        rank = max(1, round(rate * (last - first) * n))
        threshold[first:last] = threshold_at(largest, rank)
        exceeding.append(largest)
        look, column, _ = first_crossings(cells, float(threshold[first]))
        simulation.alarm(look, column)
    return Calibration(
        threshold=threshold,
        n_draws=n,
        block=tuple(blocks),
        exceeding=tuple(exceeding),
        per_year=float(per_year),
        looks_per_year=float(looks_per_year),
        share=share,
    )


def _checked_expected(n_expected: ArrayLike) -> Floats:
    e = np.asarray(n_expected, dtype=np.float64)
    if e.ndim != 2:  # noqa: PLR2004 - looks by strata
        raise ValueError(f"n_expected must be looks by strata, got shape {e.shape}")
    if not (np.isfinite(e) & (e >= 0)).all():
        raise ValueError("n_expected must be finite and not negative")
    return e


def _n_draws(rate: float, block: tuple[int, int], n_cells: int) -> int:
    wanted = int(np.ceil(LIVE_ALARMS / (rate * (block[1] - block[0]))))
    return max(min(wanted, MOST_CELLS // n_cells), LEAST_DRAWS)
