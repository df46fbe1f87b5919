"""The Weibull scale when too few failures leave the shape open."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import (
    Counts,
    Floats,
    checked_ages,
    checked_counts,
    checked_entries,
    normal_quantile,
)
from analytics.statistics.life_counts import (
    ROUNDING,
    LifeCounts,
    check_entries,
    checked_fractions,
)


@dataclass(frozen=True, slots=True)
class ScaleFit:
    """A Weibull law whose shape is assumed; the scale is inf without a failure."""

    scale: float
    low: float
    high: float
    shape: float  # assumed, so that no interval holds its error
    confidence: float  # of low alone where nothing has failed
    n_failed: int
    n_units: int

    def survival(self, age: ArrayLike) -> Floats:
        """Return the fraction still working at each age, same shape as `age`."""
        return np.asarray(np.exp(-self._hazard(age, self.scale)))[()]

    def failed_fraction(self, age: ArrayLike) -> Floats:
        """Return the fraction failed by each age, same shape as `age`."""
        return np.asarray(-np.expm1(-self._hazard(age, self.scale)))[()]

    def failed_fraction_interval(self, age: ArrayLike) -> tuple[Floats, Floats]:
        """Return limits of the fraction failed by each age: those of the scale."""
        low = -np.expm1(-self._hazard(age, self.high))
        high = -np.expm1(-self._hazard(age, self.low))
        return np.asarray(low)[()], np.asarray(high)[()]

    def quantile(self, p: ArrayLike) -> Floats:
        """Return the age by which the fraction `p` has failed, same shape as `p`."""
        return np.asarray(self._age_of(checked_fractions(p), self.scale))[()]

    def quantile_interval(self, p: ArrayLike) -> tuple[Floats, Floats]:
        """Return limits of the age by which the fraction `p` has failed.

        Those of the scale; inf above where nothing has failed.
        """
        fractions = checked_fractions(p)
        low, high = (
            self._age_of(fractions, self.low),
            self._age_of(fractions, self.high),
        )
        return np.asarray(low)[()], np.asarray(high)[()]

    def _hazard(self, age: ArrayLike, scale: float) -> Floats:
        ages = np.asarray(age, dtype=np.float64)
        if not (ages >= 0).all():
            raise ValueError("ages must not be negative")
        # An infinite scale: nobody fails, whatever the age.
        with np.errstate(invalid="ignore", over="ignore"):
            ratio = np.where(np.isinf(scale), 0.0, ages / scale)
            return np.asarray(ratio**self.shape)

    def _age_of(self, p: Floats, scale: float) -> Floats:
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            ages = scale * (-np.log1p(-p)) ** (1 / self.shape)
        return np.asarray(np.where(p > 0, ages, 0.0))


def weibull_assumed_shape(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    shape: float,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    lower: ArrayLike | None = None,
    upper: ArrayLike | None = None,
    n_interval: ArrayLike | None = None,
    confidence: float = 0.95,
) -> ScaleFit:
    """Return the Weibull scale when the shape is assumed, for one failure or none.

    Parameters
    ----------
    age : array of float, shape (k,)
        Any order and unit; repeated ages add up.
    n_failed, n_censored : array of int, shape (k,)
    shape : float
        The assumed shape, above 0.
    entry_age, n_entered : array, shape (j,), optional
        Delayed entry, as of `fit_life`.
    lower, upper, n_interval : array, shape (i,), optional
        As of `fit_life`, and refused unless no failure is in them: a failure known only
        to lie in an interval has no closed form.
    confidence : float, default 0.95

    Returns
    -------
    ScaleFit
        Two-sided limits, exact where the observation stops at a set age. Without a
        failure the scale and high are inf, and low is a one-sided limit at the level.

    Raises
    ------
    InsufficientDataError
        No unit has been seen at an age above 0.
    ValueError
        A shape not above 0, arrays that do not fit each other, a negative count, a
        failure in an interval, more entries from an age on than units that end after
        it, a confidence that is not between 0 and 1.

    Notes
    -----
    age^shape is exponential, so with T = sum of age^shape, less that of the entries (an
    exponential life has no memory of the time before), and d failures
    scale = (T / d)^(1/shape), limits (2 T / chi2)^(1/shape) with chi2 at 2d + 2
    degrees of freedom below and 2d above. Checked against
    tests/published/test_assumed_shape.py.
    """
    if not (shape > 0 and np.isfinite(shape)):
        raise ValueError(f"shape must be above 0, got {shape}")
    normal_quantile(confidence)
    _refuse_intervals(lower, upper, n_interval)
    ages = checked_ages("age", age)
    failed = checked_counts("n_failed", n_failed, ages.shape)
    censored = checked_counts("n_censored", n_censored, ages.shape)
    units, d = failed + censored, int(failed.sum())
    late, entered = _entries(ages, units, entry_age, n_entered)
    largest = float(ages[units > 0].max(initial=0))
    # Over largest^shape: no overflow.
    unit = largest or 1.0
    ended = float(units @ (ages / unit) ** shape)
    total = ended - float(entered @ (late / unit) ** shape)
    if not total > ROUNDING * ended:
        raise InsufficientDataError("units seen above age 0", needed=1, found=0)

    def scale_at(n_events: float) -> float:
        return largest * float((total / n_events) ** (1 / shape))

    inf = float("inf")
    tail = (1 - confidence) / 2
    return ScaleFit(
        scale=scale_at(d) if d else inf,
        low=scale_at(
            float(special.gammainccinv(d + 1, tail)) if d else -np.log1p(-confidence)
        ),
        high=scale_at(float(special.gammaincinv(d, tail))) if d else inf,
        shape=shape,
        confidence=confidence,
        n_failed=d,
        n_units=int(units.sum()),
    )


def _entries(
    ages: Floats,
    units: Counts,
    entry_age: ArrayLike | None,
    n_entered: ArrayLike | None,
) -> tuple[Floats, Counts]:
    none, no_count = np.zeros(0), np.zeros(0, dtype=np.int64)
    late, entered = checked_entries(entry_age, n_entered) or (none, no_count)
    check_entries(
        LifeCounts(ages, 0 * units, units, none, none, no_count, late, entered)
    )
    return late, entered


def _refuse_intervals(
    lower: ArrayLike | None, upper: ArrayLike | None, n_interval: ArrayLike | None
) -> None:
    for bounds in (lower, upper):
        if bounds is not None and np.size(bounds):
            counts = checked_counts("n_interval", n_interval, np.shape(bounds))
            if counts.any():
                raise ValueError(
                    "with an assumed shape failures known only to lie in an interval "
                    "are not supported; pass them at its upper end"
                )
