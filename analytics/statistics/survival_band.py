"""A band around the survival curve that holds at all ages of a range at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, optimize, special

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Counts,
    Floats,
    curve_table,
    normal_quantile,
)
from analytics.statistics.life import SurvivalCurve, kaplan_meier

# Before the fifth failure the curve is too far from normal: see `survival_band`.
MIN_FAILURES = 5
# Over shorter times the critical value is taken a little too large rather than slowly:
# the variance grows by less than 2 in 1000.
SHORTEST_TIME = 1e-3
# Waves that decay by more than exp(-LARGEST_DECAY) are left out, a few kept to spare.
LARGEST_DECAY = 25.0
WAVES_TO_SPARE = 60
# The critical value is never so far above that of a single age.
LARGEST_GAIN = 5.0
CLOSE = 0.02  # how far the formula that gives the start is off, mostly
ROOT_TWO_PI = float(np.sqrt(2 * np.pi))


@dataclass(frozen=True, slots=True, eq=False)
class SurvivalBand:
    """Limits within which the whole curve lies over a range of ages, at once."""

    age: Floats  # from_age and the distinct ages after it; values hold from there on
    survival: Floats
    low: Floats
    high: Floats
    from_age: float
    to_age: float
    critical_value: float  # in the place of 1.96 of limits at one age
    confidence: float


def survival_band(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    confidence: float = 0.95,
    from_age: float | None = None,
    to_age: float | None = None,
) -> SurvivalBand:
    """Estimate a band that holds the whole survival curve at once.

    Parameters
    ----------
    age, n_failed, n_censored, entry_age, n_entered
        As for `kaplan_meier`.
    confidence : float, default 0.95
        How often such a band holds the curve at every age of the range.
    from_age, to_age : float, optional
        The range. Left out: from the fifth failure to the last one that left others
        working. The wider the range, the wider the band.

    Returns
    -------
    SurvivalBand
        Every limit lies outside the log-log limits of `kaplan_meier` at that age.

    Raises
    ------
    InsufficientDataError
        Fewer than five failures that left others working (one by `from_age`, if given);
        nobody in view or working at `to_age`.
    ValueError
        As `kaplan_meier`; a range that ends before it begins.

    Notes
    -----
    Nair (1984), equal precision, on the scale of log(-log S): the error of the curve in
    its own standard errors is near a Brownian motion W over Greenwood's sum C, and
    W(C) / sqrt(C) is a stationary Ornstein-Uhlenbeck process over the time ln(C) / 2.
    The critical value depends on the growth of C over the range alone, with delayed
    entry as without.

    In 4000 simulated samples each, with 20, 50 and 200 failures, no censoring to nine
    units in ten, with and without delayed entry, the default range of a 95 % band held
    the curve in 93.7 to 95.0 %; from the first failure on it was 89 to 90 %, from the
    tenth on 94.3 to 96.3 %. Where the range ends made no difference.
    """
    curve = kaplan_meier(
        age,
        n_failed,
        n_censored,
        entry_age=entry_age,
        n_entered=n_entered,
        confidence=confidence,
    )
    _, failed, _ = curve_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    start, end = _range(curve, failed, from_age, to_age)
    shown = np.unique(
        np.append(curve.age[(curve.age > start) & (curve.age <= end)], start)
    )
    place = np.searchsorted(curve.age, shown, side="right") - 1
    survival = curve.survival[place]
    relative = curve.standard_error[place] / survival
    value = critical_value(
        float(relative[-1] ** 2 / relative[0] ** 2), confidence=confidence
    )
    reach = np.exp(value * relative / -np.log(survival))
    return SurvivalBand(
        age=shown,
        survival=survival,
        low=survival**reach,
        high=survival ** (1 / reach),
        from_age=start,
        to_age=end,
        critical_value=value,
        confidence=confidence,
    )


def critical_value(variance_ratio: float, *, confidence: float = 0.95) -> float:
    """Return how many standard errors an equal precision band reaches.

    Parameters
    ----------
    variance_ratio : float
        Greenwood's sum (the squared relative error of survival) at the end of the range
        over that at its beginning, 1 or more.
    confidence : float, default 0.95

    Returns
    -------
    float
        To 1e-8; up to 0.04 too large where the ratio is above 1 and below 1.002.

    Raises
    ------
    ValueError
        A ratio below 1 or not finite, a confidence that is not between 0 and 1.

    Notes
    -----
    The chance that a stationary Ornstein-Uhlenbeck process stays within [-c, c] over a
    time T is a sum of exp(-l T) a^2 over the solutions of
    -g'' + (x^2 / 4 - 1 / 2) g = l g with g(-c) = g(c) = 0, a being the share of the
    square root of the normal density in g. Checked against
    tests/published/test_equal_precision.py.
    """
    if not (np.isfinite(variance_ratio) and variance_ratio >= 1):
        raise ValueError(
            f"variance_ratio must be finite and at least 1, got {variance_ratio}"
        )
    alone = normal_quantile(confidence)
    if variance_ratio == 1:
        return alone
    time = max(float(np.log(variance_ratio)) / 2, SHORTEST_TIME)

    def excess(value: float) -> float:
        return _chance_inside(value, time) - confidence

    near = _near(alone, 2 * time, 1 - confidence)
    low, high = max(alone, near - CLOSE), near + CLOSE
    if excess(low) > 0 or excess(high) < 0:
        low, high = alone, alone + LARGEST_GAIN
    return float(optimize.brentq(excess, low, high, xtol=1e-10))


def _near(alone: float, log_ratio: float, outside: float) -> float:
    # The formula of Miller and Siegmund (1982, from memory): where to look first.
    def excess(value: float) -> float:
        density = float(np.exp(-(value**2) / 2)) / ROOT_TWO_PI
        return density * (4 / value + (value - 1 / value) * log_ratio) - outside

    if excess(alone) <= 0:
        return alone
    return float(optimize.brentq(excess, alone, alone + LARGEST_GAIN))


def _chance_inside(limit: float, time: float) -> float:
    # Even solutions alone: the start is symmetric. Cosines meet both zero ends.
    n_waves = WAVES_TO_SPARE + int(limit / np.pi * np.sqrt(LARGEST_DECAY / time))
    i = np.arange(n_waves)
    frequency = (i + 0.5) * np.pi / limit
    # Integrals over [-c, c] of x^2, and of exp(-x^2 / 4), by products of cosines.
    square = _square_by_waves(i[:, None] - i) + _square_by_waves(i[:, None] + i + 1)
    energy = np.diag(frequency**2 - 0.5) + limit**2 * square / 4
    edge = np.exp(-(limit**2) / 4) * np.where(i % 2, -1, 1)
    start = np.exp(-(frequency**2)) - edge * special.wofz(0.5j * limit - frequency).imag
    decay, axes = linalg.eigh(energy)
    share = axes.T @ start
    return float(np.exp(-decay * time) @ share**2) * float(np.sqrt(8 * np.pi)) / limit


def _square_by_waves(k: Counts) -> Floats:
    # Half the integral of x^2 cos(k pi x) over [-1, 1].
    away = np.maximum(np.abs(k), 1)
    return np.where(k == 0, 1 / 3, 2 * (-1.0) ** away / (away * np.pi) ** 2)


def _range(
    curve: SurvivalCurve, failed: Counts, from_age: float | None, to_age: float | None
) -> tuple[float, float]:
    working = curve.survival > 0
    n_so_far = np.cumsum(np.where(working, failed, 0))
    if from_age is not None:
        place = int(np.searchsorted(curve.age, from_age, side="right")) - 1
        found = int(n_so_far[place]) if place >= 0 else 0
        if not found:
            raise InsufficientDataError(
                f"failures by age {from_age}", needed=1, found=0
            )
        start = from_age
    elif n_so_far[-1] < MIN_FAILURES:
        raise InsufficientDataError(
            "failures that left others working",
            needed=MIN_FAILURES,
            found=int(n_so_far[-1]),
        )
    else:
        start = float(curve.age[np.searchsorted(n_so_far, MIN_FAILURES)])
    return start, _end(curve, failed, start, to_age)


def _end(
    curve: SurvivalCurve, failed: Counts, start: float, to_age: float | None
) -> float:
    working = curve.survival > 0
    last = float(curve.age[working & (failed > 0)][-1])
    end = max(last, start) if to_age is None else to_age
    if not end >= start:
        raise ValueError(f"the range ends at age {end}, before it begins at {start}")
    if not curve.at(end)[0] > 0:
        raise InsufficientDataError(
            f"units working and in view at age {end}", needed=1, found=0
        )
    return end
