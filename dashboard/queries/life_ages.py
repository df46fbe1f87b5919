"""Ages and shares that the curve and the law give: tables of the life answer."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import LifeFit
from analytics.statistics.hazard import hazard_by_age
from analytics.statistics.intervals import binomial_interval
from analytics.statistics.life import SurvivalCurve
from analytics.statistics.restricted_mean import restricted_mean
from dashboard.queries.answer import Row
from dashboard.queries.life_laws import age_of, interval_method
from dashboard.queries.life_lives import Lives

FRACTIONS = (0.01, 0.05, 0.10, 0.50)
DAYS_A_YEAR = 365.25
YEAR = 365
MONTH_3 = 90
ASKED_AGES = (MONTH_3, YEAR, 2 * YEAR, 3 * YEAR, 5 * YEAR)
CURVE_SHARE = ("curve_failed", "curve_low", "curve_high")
ENOUGH_AT_RISK = 10  # a mean, or a share by mode, is not read further than this

Floats = NDArray[np.float64]


def b_lives(fit: LifeFit, *, largest_age: float) -> list[Row]:
    """Return the ages by which 1, 5, 10 and 50 % have failed."""
    rows: list[Row] = []
    for fraction in FRACTIONS:
        age, low, high = age_of(fit, fraction)
        rows.append(
            {
                "failed_fraction": fraction,
                "age_days": age,
                "low": low,
                "high": high,
                "n_failed": fit.n_failed,
                "extrapolated": age > largest_age,
            }
        )
    return rows


def failed_by(
    fit: LifeFit | None, curve: SurvivalCurve, lives: Lives, ages: Sequence[float]
) -> list[Row]:
    """Return the share failed by each age, from the law and from the curve."""
    asked = np.array(sorted(set(ages)), dtype=np.float64)
    n_failed = np.concatenate([[0], np.cumsum(lives.n_failed)])
    at_risk = np.append(curve.n_at_risk, 0)
    later = np.searchsorted(curve.age, asked, side="left")
    rows: list[Row] = []
    for place, age in enumerate(asked):
        rows.append(
            {
                "age_days": float(age),
                **_fitted(fit, float(age)),
                **dict(zip(CURVE_SHARE, share_on_curve(curve, age), strict=True)),
                "n_at_risk": int(at_risk[later[place]]),
                "n_failed": int(
                    n_failed[np.searchsorted(lives.age, age, side="right")]
                ),
                "extrapolated": bool(age > lives.largest_age),
            }
        )
    return rows


def share_on_curve(curve: SurvivalCurve, age: float) -> tuple[float, float, float]:
    """Return the share failed by an age as the curve says, and its limits.

    Where none has failed yet, the upper limit is the exact one of none failed among
    the fewest units that were at risk at any age up to there.
    """
    survival, low, high = (float(value) for value in curve.at(age))
    if survival < 1 or np.isnan(survival):
        return 1 - survival, 1 - high, 1 - low
    n_seen = int(np.searchsorted(curve.age, age, side="left")) + 1
    n_at_risk = int(curve.n_at_risk[:n_seen].min())
    if not n_at_risk:
        return 0.0, 0.0, 1.0
    _, upper = binomial_interval(0, n_at_risk, method="clopper-pearson")
    return 0.0, 0.0, float(upper)


def _fitted(fit: LifeFit | None, age: float) -> Row:
    if fit is None:
        return {"failed": None, "low": None, "high": None}
    low, high = fit.failed_fraction_interval(age, method=interval_method(fit))
    return {
        "failed": float(fit.failed_fraction(age)),
        "low": float(low),
        "high": float(high),
    }


def asked_ages(ages: Sequence[float], *, largest_age: float) -> Sequence[float]:
    """Return the ages named, or the usual ones: all seen, and the next beyond."""
    if ages:
        return ages
    n_seen = sum(age <= largest_age for age in ASKED_AGES)
    return ASKED_AGES[: n_seen + 1]


def median(curve: SurvivalCurve) -> Row:
    """Return the age by which half have failed, as the curve says."""
    low, high = curve.median_interval()
    return {"age_days": curve.median(), "low": low, "high": high}


def mean_life(lives: Lives, curve: SurvivalCurve) -> Row | None:
    """Return how long units work on average up to an age that enough were seen at."""
    horizon = horizon_of(curve)
    if not horizon:
        return None
    try:
        found = restricted_mean(
            lives.age,
            lives.n_failed,
            lives.n_censored + lives.n_other,
            horizon=horizon,
            entry_age=lives.entry_age,
            n_entered=lives.n_entered,
        )
    except InsufficientDataError:
        return None
    return {
        "mean_days": found.mean,
        "low": found.low,
        "high": found.high,
        "horizon_days": horizon,
        "n_failed": int(lives.n_failed[lives.age <= horizon].sum()),
    }


def horizon_of(curve: SurvivalCurve) -> float:
    """Return the largest age with enough units at risk: whole years, if it can be."""
    enough = curve.age[curve.n_at_risk >= ENOUGH_AT_RISK]
    oldest = float(enough.max()) if len(enough) else 0.0
    return oldest // YEAR * YEAR or oldest


def rates(lives: Lives) -> list[Row]:
    """Return failures per 1 000 units in service and year, by age."""
    n_years = int(lives.largest_age // YEAR) + 1
    edges = [0, MONTH_3, *(YEAR * year for year in range(1, n_years + 1))]
    found = hazard_by_age(
        lives.age,
        lives.n_failed,
        lives.n_censored + lives.n_other,
        edges=edges,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
    )
    per = 1000 * DAYS_A_YEAR
    return [
        {
            "from_days": float(found.from_age[i]),
            "to_days": float(found.to_age[i]),
            "n_failed": int(found.n_failed[i]),
            "unit_years": float(found.exposure[i]) / DAYS_A_YEAR,
            "rate": per * float(found.rate[i]),
            "low": per * float(found.low[i]),
            "high": per * float(found.high[i]),
        }
        for i in range(len(found.rate))
        if found.exposure[i] > 0
    ]
