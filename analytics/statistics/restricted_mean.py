"""Mean age at failure within a horizon: the area under the survival curve up to it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Counts, Floats, curve_table, normal_quantile


@dataclass(frozen=True, slots=True)
class RestrictedMean:
    """Mean of the age at failure, or of the horizon where that comes first."""

    mean: float
    standard_error: float
    low: float
    high: float
    horizon: float
    confidence: float


def restricted_mean(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    horizon: float,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    confidence: float = 0.95,
) -> RestrictedMean:
    """Estimate the mean working life up to a horizon.

    Parameters
    ----------
    age, n_failed, n_censored, entry_age, n_entered
        As for `kaplan_meier`.
    horizon : float
        Above 0, in the unit of age: lives beyond it count as the horizon. No further
        than the ages seen, unless all failed.
    confidence : float, default 0.95

    Returns
    -------
    RestrictedMean
        Limits are symmetric, and lie within 0 and the horizon.

    Raises
    ------
    InsufficientDataError
        No failure before the horizon, which leaves no measure of the error; nobody in
        view at the horizon.
    ValueError
        As `kaplan_meier`; a horizon not above 0.

    Notes
    -----
    The area under S up to the horizon; its variance is the sum over failures of
    A(t)^2 d / (n (n - d)), A(t) being the area from t on (Meier 1975). Without
    censoring that is the mean of the lives and their variance over the number of units.
    Checked against tests/published/test_freireich_1963.py.
    """
    z = normal_quantile(confidence)
    if not (np.isfinite(horizon) and horizon > 0):
        raise ValueError(f"horizon must be finite and above 0, got {horizon}")
    ages, failed, at_risk = curve_table(
        age, n_failed, n_censored, entry_age=entry_age, n_entered=n_entered
    )
    seen = ages < horizon  # a failure at the horizon takes nothing from the area
    if not failed[seen].sum():
        raise InsufficientDataError(
            f"failures before the horizon {horizon}", needed=1, found=0
        )
    n = np.maximum(at_risk, 1).astype(np.float64)
    survival = np.cumprod(1 - failed / n, dtype=np.float64)
    if horizon > ages[-1] and survival[-1] > 0:
        raise InsufficientDataError(
            f"units in view at the horizon {horizon}", needed=1, found=0
        )
    mean, error = _area(ages[seen], failed[seen], n[seen], survival[seen], horizon)
    return RestrictedMean(
        mean=mean,
        standard_error=error,
        low=max(mean - z * error, 0.0),
        high=min(mean + z * error, horizon),
        horizon=horizon,
        confidence=confidence,
    )


def _area(
    age: Floats, failed: Counts, n: Floats, survival: Floats, horizon: float
) -> tuple[float, float]:
    pieces = survival * np.diff(np.append(age, horizon))
    beyond = np.cumsum(pieces[::-1])[::-1]
    # Where nobody is left, no area is either.
    left = np.where(n > failed, n - failed, 1)
    variance = (beyond**2 * failed / (n * left)).sum()
    return float(age[0] + beyond[0]), float(np.sqrt(variance))
