"""What the estimates without a law say of one fleet, against the law it came from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Floats
from analytics.statistics.life import kaplan_meier, nelson_aalen
from tests.truth.fleets import Fleet
from tests.truth.study import Values

AGES = (180, 365, 700)
PIECES = (0, 180, 365, 700)
QUANTILES = (0.05, 0.5)
SCALES = ("log-log", "log", "plain")
HORIZON = 700
LONGEST = 3 * 365


def held(low: float, value: float, high: float) -> float:
    """Return 1 where the limits hold the value, 0 where not, nan without limits."""
    if np.isnan(low) or np.isnan(high):
        return float("nan")
    return float(low <= value <= high)


def or_unanswered(answer: Callable[[], Values], names: list[str]) -> Values:
    """Return the answer; nan for each name where the data cannot give one."""
    try:
        return answer()
    except InsufficientDataError:
        return dict.fromkeys(names, float("nan"))


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
