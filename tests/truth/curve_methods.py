"""What the estimates without a law say of one fleet, against the law it came from."""

from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Counts, Floats
from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.life import kaplan_meier, nelson_aalen
from analytics.statistics.restricted_mean import restricted_mean
from analytics.statistics.survival_band import survival_band
from tests.truth.fleets import Fleet
from tests.truth.study import Values

AGES = (180, 365, 700)
PIECES = (0, 180, 365, 700)  # hazard from one to the next
QUANTILES = (0.05, 0.5)
SCALES = ("log-log", "log", "plain")
HORIZON = 700
LONGEST = 3 * 365
# The whole curve at once: over the range the band takes by itself, and a given one.
RANGES: dict[str, dict[str, float]] = {
    "whole curve, its own range": {},
    "whole curve, 180 to 700 days": {"from_age": 180, "to_age": 700},
}
MEAN = f"mean life up to {HORIZON} days"


def held(low: float, value: float, high: float) -> float:
    """Return 1 where the limits hold the value, 0 where not, nan without limits."""
    if np.isnan(low) or np.isnan(high):
        return float("nan")
    return float(low <= value <= high)


@dataclass(frozen=True, slots=True)
class CurveTruth:
    """A law, worked out at every day."""

    days: Floats
    survival: Floats
    cumulative_hazard: Floats
    quantile: dict[float, float]
    restricted_mean: float

    def ages(self) -> dict[str, float]:
        """Return the methods that read a curve at an age, with that age."""
        at_ages = {
            name: float(age)
            for age in AGES
            for name in (
                *(f"survival at {age} days, {scale}" for scale in SCALES),
                f"cumulative hazard at {age} days",
            )
        }
        return at_ages | {
            f"age of {100 * p:g} % failed, no law": age
            for p, age in self.quantile.items()
        }

    @classmethod
    def of(cls, law: Any) -> "CurveTruth":
        days = np.arange(LONGEST + 1, dtype=float)
        fine = np.linspace(0, HORIZON, 100 * HORIZON + 1)
        return cls(
            days=days,
            survival=law.sf(days),
            cumulative_hazard=-law.logsf(days),
            quantile={p: float(law.ppf(p)) for p in QUANTILES},
            restricted_mean=float(np.trapezoid(law.sf(fine), fine)),
        )


def curve_values(fleet: Fleet, truth: CurveTruth) -> Values:
    counts = fleet.for_curves()
    entries = fleet.entries()
    values: Values = {}
    for scale in SCALES:
        curve = kaplan_meier(*counts, interval=scale, **entries)
        _, low, high = curve.at(np.array(AGES, dtype=float))
        for i, age in enumerate(AGES):
            name = f"survival at {age} days, {scale}"
            values[name] = held(low[i], truth.survival[age], high[i])
    curve = kaplan_meier(*counts, **entries)
    for p in QUANTILES:
        low, high = curve.quantile_interval(p)
        # A limit beyond all ages seen says nothing of a truth that lies there too.
        is_answer = np.isfinite(low) or truth.quantile[p] <= curve.age[-1]
        name = f"age of {100 * p:g} % failed, no law"
        values[name] = held(low, truth.quantile[p], high) if is_answer else float("nan")
    hazard = nelson_aalen(*counts, **entries)
    for age in AGES:
        i = np.searchsorted(hazard.age, age, side="right") - 1
        is_answer = i >= 0 and age <= hazard.age[-1]
        values[f"cumulative hazard at {age} days"] = (
            held(hazard.low[i], truth.cumulative_hazard[age], hazard.high[i])
            if is_answer
            else float("nan")
        )
    return values


def band_values(fleet: Fleet, truth: CurveTruth) -> Values:
    """Return whether a band holds the whole curve, on every day of its range."""
    counts, entries = fleet.for_curves(), fleet.entries()
    values = dict.fromkeys(RANGES, np.nan)
    for name, wanted in RANGES.items():
        with suppress(InsufficientDataError):
            band = survival_band(*counts, **entries, **wanted)
            days = np.arange(np.ceil(band.from_age), np.floor(band.to_age) + 1)
            at = np.searchsorted(band.age, days, side="right") - 1
            true = truth.survival[days.astype(int)]
            inside = (band.low[at] <= true) & (true <= band.high[at])
            values[name] = float(inside.all())
    return values


def mean_values(fleet: Fleet, truth: CurveTruth) -> Values:
    counts, entries = fleet.for_curves(), fleet.entries()
    with suppress(InsufficientDataError):
        mean = restricted_mean(*counts, horizon=HORIZON, **entries)
        return {MEAN: held(mean.low, truth.restricted_mean, mean.high)}
    return {MEAN: np.nan}


def hazard_values(fleet: Fleet, truth: CurveTruth) -> Values:
    """Return whether limits hold the hazard as it was met, piece by piece.

    Within a piece the hazard changes; the truth is the mean over the time in which
    units were seen: the failures to be expected of that time, over its length.
    """
    age, failed, censored = fleet.for_curves()
    found = hazard_by_age(age, failed, censored, edges=PIECES, **fleet.entries())

    def expected(at: Floats, n_units: Counts) -> Floats:
        """Return the cumulative hazard of units within each piece, up to their age."""
        inside = np.clip(at[:, None], PIECES[:-1], PIECES[1:])
        hazard = np.interp(inside, truth.days, truth.cumulative_hazard)
        start = truth.cumulative_hazard[list(PIECES[:-1])]
        return n_units @ (hazard - start)

    met = expected(age, failed + censored)
    if fleet.entry_age is not None and fleet.n_entered is not None:
        met = met - expected(fleet.entry_age, fleet.n_entered[:, 0])
    names = hazard_names()
    limits = found.low, met / found.exposure, found.high
    return {name: held(*three) for name, *three in zip(names, *limits, strict=True)}


def hazard_names() -> list[str]:
    return [f"hazard from {a} to {b} days" for a, b in pairwise(PIECES)]
