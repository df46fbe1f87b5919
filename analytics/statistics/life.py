"""Time to failure without a law: survival, cumulative hazard, groups compared.

At one age, failures come before censorings (Kaplan and Meier 1958); a unit that comes
into view at an age above 0 is at risk from right after it. `counts` holds both rules.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from analytics.statistics.comparison import log_rank
from analytics.statistics.counts import Counts, Floats, curve_table, normal_quantile
from analytics.statistics.turnbull import interval_censored

__all__ = [
    "CumulativeHazard",
    "SurvivalCurve",
    "interval_censored",
    "kaplan_meier",
    "log_rank",
    "nelson_aalen",
]

# A product of fractions may miss a fraction by some units of the last place.
ROUNDING = 1e-12

IntervalKind = Literal["plain", "log", "log-log"]


@dataclass(frozen=True, slots=True, eq=False)
class SurvivalCurve:
    """Kaplan-Meier estimate at each distinct age; values hold from that age on."""

    age: Floats
    survival: Floats
    standard_error: Floats  # Greenwood; nan where nobody is left
    low: Floats  # nan where survival is 0
    high: Floats
    n_at_risk: Counts  # units with entry < age <= exit
    confidence: float

    def median(self) -> float:
        """Return the smallest age with survival at or below one half, else inf."""
        return self.quantile(0.5)

    def median_interval(self) -> tuple[float, float]:
        """Return the smallest ages with low, and with high, at or below one half."""
        return self.quantile_interval(0.5)

    def quantile(self, p: float) -> float:
        """Return the smallest age by which a fraction p has failed, else inf.

        Parameters
        ----------
        p : float
            Between 0 and 1: 0.1 gives the age by which a tenth has failed.

        Returns
        -------
        float
            The smallest age with survival at or below 1 - p.

        Raises
        ------
        ValueError
            p is not between 0 and 1.
        """
        return _first_age(self.age, self.survival, p)

    def quantile_interval(self, p: float) -> tuple[float, float]:
        """Return limits of the age by which a fraction p has failed.

        Parameters
        ----------
        p : float
            Between 0 and 1.

        Returns
        -------
        low, high : float
            The smallest ages with `.low`, and with `.high`, at or below 1 - p: the ages
            at which the limits of the curve do not rule p out (Brookmeyer and Crowley
            1982). inf where that is not reached. Where survival is 0, its limits are
            not known; the lower one, which lies no higher, counts as 0.

        Raises
        ------
        ValueError
            p is not between 0 and 1.
        """
        low = np.where(self.survival > 0, self.low, 0.0)
        return _first_age(self.age, low, p), _first_age(self.age, self.high, p)

    def at(self, age: ArrayLike) -> tuple[Floats, Floats, Floats]:
        """Return survival and its limits at any ages.

        Parameters
        ----------
        age : float or array of float

        Returns
        -------
        survival, low, high : float or array of float, same shape as `age`
            1 before the first age. Beyond the last age nobody was seen: nan, unless
            survival is 0 there and stays so.

        Raises
        ------
        ValueError
            A negative age.
        """
        ages = np.asarray(age, dtype=np.float64)
        if not (ages >= 0).all():
            raise ValueError("ages must not be negative")
        place = np.searchsorted(self.age, ages, side="right")
        unseen = (ages > self.age[-1]) & (self.survival[-1] > 0)
        survival, low, high = (
            np.where(unseen, np.nan, np.append(1.0, values)[place])[()]
            for values in (self.survival, self.low, self.high)
        )
        return survival, low, high


@dataclass(frozen=True, slots=True, eq=False)
class CumulativeHazard:
    """Nelson-Aalen estimate at each distinct age; values hold from that age on."""

    age: Floats
    cumulative_hazard: Floats
    standard_error: Floats
    low: Floats
    high: Floats
    confidence: float


def _first_age(age: Floats, survival: Floats, p: float) -> float:
    if not 0 < p < 1:
        raise ValueError(f"p must be between 0 and 1, got {p}")
    reached = np.flatnonzero(survival <= 1 - p + ROUNDING)
    return float(age[reached[0]]) if len(reached) else float("inf")


def kaplan_meier(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    n_entered: ArrayLike | None = None,
    entry_age: ArrayLike | None = None,
    confidence: float = 0.95,
    interval: IntervalKind = "log-log",
) -> SurvivalCurve:
    """Estimate survival from counts of failures and censorings.

    Parameters
    ----------
    age : array of float, shape (k,)
        Not negative, any order; repeated ages add up.
    n_failed, n_censored : array of int, shape (k,)
        Units that failed, or were last seen working, at each age.
    entry_age, n_entered : array, shape (j,), optional
        Delayed entry: how many units come into view at which age, in all as many as
        there are units (those seen from new at 0). `n_entered` left out: 1 each.
    confidence : float, default 0.95
        Two-sided level of the limits at each age, between 0 and 1.
    interval : {"log-log", "log", "plain"}
        The scale on which the limits are symmetric.

    Returns
    -------
    SurvivalCurve
        At the distinct ages, ascending; limits lie within [0, 1], are 1 before the
        first failure, and nan where survival is 0.

    Raises
    ------
    InsufficientDataError
        No unit at all.
    ValueError
        Arrays that do not fit each other, a negative count, entries that do not account
        for the units, an unknown interval, a confidence that is not between 0 and 1.

    Notes
    -----
    S(t) = product over ages u <= t of (1 - d / n); Greenwood's standard error is
    S sqrt(sum d / (n (n - d))). With delayed entry the risk set may run empty early:
    survival is then 0 from there on, whatever follows. Checked against the
    6-mercaptopurine trial: tests/published/test_freireich_1963.py.
    """
    z = normal_quantile(confidence)
    ages, failed, at_risk = curve_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    # Where nobody is at risk nobody fails, and the factor is 1.
    n = np.maximum(at_risk, 1).astype(np.float64)
    survival = np.cumprod(1 - failed / n, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        relative = np.sqrt(np.cumsum(np.where(failed, failed / (n * (n - failed)), 0)))
        low, high = _limits(survival, relative, z, interval)
        return SurvivalCurve(
            age=ages,
            survival=survival,
            standard_error=survival * relative,
            low=low,
            high=high,
            n_at_risk=at_risk,
            confidence=confidence,
        )


def _limits(
    survival: Floats, relative: Floats, z: float, interval: IntervalKind
) -> tuple[Floats, Floats]:
    # `relative` is the standard error of ln S.
    if interval == "plain":
        low, high = survival * (1 - z * relative), survival * (1 + z * relative)
    elif interval == "log":
        low, high = survival * np.exp(-z * relative), survival * np.exp(z * relative)
    elif interval == "log-log":
        factor = np.exp(z * relative / -np.log(survival))
        low, high = survival**factor, survival ** (1 / factor)
    else:
        raise ValueError(f"interval must be plain, log or log-log, got {interval!r}")
    bounds = []
    for bound in (low, high):
        known = np.where(survival < 1, np.clip(bound, 0, 1), 1.0)
        bounds.append(np.where(survival > 0, known, np.nan))
    return bounds[0], bounds[1]


def nelson_aalen(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    confidence: float = 0.95,
) -> CumulativeHazard:
    """Estimate the cumulative hazard from counts.

    Parameters
    ----------
    age, n_failed, n_censored, entry_age, n_entered
        As for `kaplan_meier`.
    confidence : float, default 0.95

    Returns
    -------
    CumulativeHazard
        Limits are symmetric on the log scale, and 0 before the first failure.

    Raises
    ------
    InsufficientDataError, ValueError
        As `kaplan_meier`.

    Notes
    -----
    H(t) = sum of d / n over ages u <= t; standard error sqrt(sum d / n^2), the one of
    a counting process. Checked beside `kaplan_meier`.
    """
    z = normal_quantile(confidence)
    ages, failed, at_risk = curve_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    n = np.maximum(at_risk, 1).astype(np.float64)
    hazard = np.cumsum(failed / n)
    error = np.sqrt(np.cumsum(failed / n**2))
    factor = np.exp(z * error / np.where(hazard > 0, hazard, 1))
    return CumulativeHazard(
        age=ages,
        cumulative_hazard=hazard,
        standard_error=error,
        low=hazard / factor,
        high=hazard * factor,
        confidence=confidence,
    )
