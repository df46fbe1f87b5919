"""A fitted life distribution: what it says about ages, and how sure it is."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special, stats

from analytics.statistics.counts import Floats, normal_quantile
from analytics.statistics.fitting import Maximum, maximise
from analytics.statistics.likelihood import Records, StandardLaw

IntervalMethod = Literal["wald", "likelihood"]

# Where the search for a limit gives up, in the logarithm of age or of shape: e^700 is
# the largest number a float can hold.
FARTHEST = 700.0


@dataclass(frozen=True, slots=True, eq=False)
class LifeFit:
    """A life distribution fitted by maximum likelihood.

    `parameters` are (shape, scale) of a Weibull, where a shape below 1 means early
    failures and the scale is the age by which 63.2 % have failed; (mu, sigma) of the
    logarithm of age for a lognormal; (scale), the mean, for an exponential law.
    """

    distribution: str
    parameters: dict[str, float]
    covariance: Floats  # (p, p) in the order of `parameters`, on their own scale
    intervals: dict[str, tuple[float, float]]  # Wald, on the log scale except mu
    confidence: float
    log_likelihood: float  # of densities per unit of age
    aicc: float  # with n = all units; nan where n is too small for it
    n_failed: int
    n_units: int
    mean_log_age: float  # of the failures; intervals count at their middle
    _law: StandardLaw
    _records: Records
    _best: Maximum  # (alpha, rho), see `likelihood`
    _spread: Floats  # covariance of (alpha, rho)

    def survival(self, age: ArrayLike) -> Floats:
        """Return the fraction still working at each age, same shape as `age`."""
        z = self._standardised(age)
        if self.distribution == "lognormal":
            return np.asarray(special.ndtr(-z))[()]
        with np.errstate(over="ignore"):
            return np.asarray(np.exp(-np.exp(z)))[()]

    def failed_fraction(self, age: ArrayLike) -> Floats:
        """Return the fraction failed by each age, same shape as `age`."""
        z = self._standardised(age)
        if self.distribution == "lognormal":
            return np.asarray(special.ndtr(z))[()]
        with np.errstate(over="ignore"):
            return np.asarray(-np.expm1(-np.exp(z)))[()]

    def quantile(self, p: ArrayLike) -> Floats:
        """Return the age by which the fraction `p` has failed, same shape as `p`."""
        with np.errstate(divide="ignore", over="ignore"):
            return np.asarray(np.exp(self._log_quantile(_checked_fractions(p))))[()]

    def quantile_interval(
        self, p: ArrayLike, *, method: IntervalMethod = "wald"
    ) -> tuple[Floats, Floats]:
        """Return limits of the age by which the fraction `p` has failed.

        Parameters
        ----------
        p : float or array of float
            Above 0 and below 1.
        method : {"wald", "likelihood"}
            Wald limits are symmetric in the logarithm of age; likelihood-ratio limits
            hold better below some 20 failures.

        Returns
        -------
        low, high : float or array of float, same shape as `p`
            A limit the likelihood does not reach is 0 or inf.

        Raises
        ------
        ValueError
            A fraction not strictly between 0 and 1, an unknown method.
        """
        fractions = _checked_fractions(p)
        if not ((fractions > 0) & (fractions < 1)).all():
            raise ValueError("limits need fractions above 0 and below 1")
        centre, error = self._log_quantile(fractions), self._log_error(fractions)
        if _is_wald(method):
            reach = normal_quantile(self.confidence) * error
            low, high = centre - reach, centre + reach
        else:
            limits = [
                self._likelihood_limits(self._at_quantile(float(q)), float(v), float(e))
                for q, v, e in zip(
                    fractions.ravel(), centre.ravel(), error.ravel(), strict=True
                )
            ]
            low, high = np.reshape(limits, (*fractions.shape, 2)).T
            low, high = low.T, high.T
        with np.errstate(over="ignore"):
            return np.exp(low)[()], np.exp(high)[()]

    def parameter_interval(
        self, name: str, *, method: IntervalMethod = "wald"
    ) -> tuple[float, float]:
        """Return limits of one parameter.

        Parameters
        ----------
        name : str
            A key of `parameters`.
        method : {"wald", "likelihood"}

        Returns
        -------
        low, high : float

        Raises
        ------
        ValueError
            No parameter of that name, an unknown method.
        """
        if name not in self.parameters:
            raise ValueError(
                f"{self.distribution} has {', '.join(self.parameters)}, not {name!r}"
            )
        if _is_wald(method):
            return self.intervals[name]
        if name in {"scale", "mu"}:
            # The age where z = 0: scale itself, or the median exp(mu).
            at_zero = 0.5 if name == "mu" else -float(np.expm1(-1))
            low, high = self.quantile_interval(at_zero, method=method)
            if name == "mu":
                with np.errstate(divide="ignore"):
                    return float(np.log(low)), float(np.log(high))
            return float(low), float(high)
        rho = float(self._best.point[1])
        error = float(np.sqrt(self._spread[1, 1])) / rho
        low_log, high_log = self._likelihood_limits(
            self._at_rho, float(np.log(rho)), error
        )
        if name == "sigma":
            low_log, high_log = -high_log, -low_log
        with np.errstate(over="ignore"):
            return float(np.exp(low_log)), float(np.exp(high_log))

    def _standardised(self, age: ArrayLike) -> Floats:
        ages = np.asarray(age, dtype=np.float64)
        if not (ages >= 0).all():
            raise ValueError("ages must not be negative")
        alpha, rho = self._best.point
        with np.errstate(divide="ignore"):
            z = rho * (np.log(ages) - self._records.log_reference) - alpha
        return np.asarray(z)

    def _log_quantile(self, p: Floats) -> Floats:
        alpha, rho = self._best.point
        with np.errstate(divide="ignore"):
            z = self._law.quantile(p)
        return np.asarray((alpha + z) / rho + self._records.log_reference)

    def _log_error(self, p: Floats) -> Floats:
        alpha, rho = self._best.point
        by_rho = -(alpha + self._law.quantile(p)) / rho**2
        variance = (
            self._spread[0, 0] / rho**2
            + 2 * self._spread[0, 1] * by_rho / rho
            + self._spread[1, 1] * by_rho**2
        )
        return np.asarray(np.sqrt(variance))

    def _at_quantile(self, p: float) -> Callable[[float, Floats], Maximum]:
        z = float(self._law.quantile(np.asarray(p)))
        is_one_parameter = len(self.parameters) == 1

        def maximum(log_age: float, near: Floats) -> Maximum:
            # alpha = rho v - z keeps the quantile at v while rho is free.
            v = log_age - self._records.log_reference
            start = np.array([near[1] * v - z, near[1]])
            free = np.array([[v], [1.0]]) if not is_one_parameter else np.zeros((2, 1))
            return maximise(self._records, self._law, start, free)

        return maximum

    def _at_rho(self, log_rho: float, near: Floats) -> Maximum:
        start = np.array([near[0], np.exp(log_rho)])
        return maximise(self._records, self._law, start, np.array([[1.0], [0.0]]))

    def _likelihood_limits(
        self, maximum: Callable[[float, Floats], Maximum], centre: float, error: float
    ) -> tuple[float, float]:
        """Return where twice the drop in log-likelihood meets the chi-square level."""
        level = float(stats.chi2.ppf(self.confidence, 1))
        near = self._best.point

        def excess(value: float) -> float:
            nonlocal near
            found = maximum(value, near)
            if np.isfinite(found.value):
                near = found.point
                return min(2 * (self._best.value - found.value) - level, FARTHEST)
            return FARTHEST

        limits = []
        for side in (-1.0, 1.0):
            near = self._best.point
            inner, reach = 0.0, max(error, 1e-9)
            while excess(centre + side * reach) < 0 and reach < FARTHEST:
                inner, reach = reach, 2 * reach
            if reach >= FARTHEST:
                limits.append(side * np.inf)
                continue
            distance = optimize.brentq(
                lambda d, side=side: excess(centre + side * d), inner, reach, rtol=1e-12
            )
            limits.append(centre + side * float(distance))
        return limits[0], limits[1]


def _is_wald(method: str) -> bool:
    if method not in {"wald", "likelihood"}:
        raise ValueError(f"method must be wald or likelihood, got {method!r}")
    return method == "wald"


def _checked_fractions(p: ArrayLike) -> Floats:
    fractions = np.asarray(p, dtype=np.float64)
    if not ((fractions >= 0) & (fractions <= 1)).all():
        raise ValueError("fractions must lie between 0 and 1")
    return fractions
