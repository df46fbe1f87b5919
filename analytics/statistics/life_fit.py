"""A fitted life distribution: what it says about ages, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.statistics.counts import Floats, normal_quantile
from analytics.statistics.fitting import Maximum
from analytics.statistics.life_counts import checked_fractions
from analytics.statistics.likelihood import Records, StandardLaw
from analytics.statistics.likelihood_limits import (
    AgeOfFraction,
    FractionAtAge,
    Line,
    LogOfRho,
    Profile,
)

IntervalMethod = Literal["wald", "likelihood"]

LARGEST_Z = 700.0  # e^700 is the largest number a float can hold


@dataclass(frozen=True, slots=True, eq=False)
class LifeFit:
    """A life distribution fitted by maximum likelihood.

    `parameters` are (shape, scale) of a Weibull, where a shape below 1 means early
    failures and the scale is the age by which 63.2 % have failed; (mu, sigma) of the
    logarithm of age for a lognormal; (scale), the mean, for an exponential law.
    """

    distribution: str
    parameters: dict[str, float]
    covariance: Floats  # (p, p) in the order of `parameters`, on their own scale; inf
    # or nan where too large for a number (a scale above 1e150)
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
        return self._law.fraction_left(self._standardised(age))[()]

    def failed_fraction(self, age: ArrayLike) -> Floats:
        """Return the fraction failed by each age, same shape as `age`."""
        return self._law.fraction(self._standardised(age))[()]

    def quantile(self, p: ArrayLike) -> Floats:
        """Return the age by which the fraction `p` has failed, same shape as `p`."""
        with np.errstate(divide="ignore", over="ignore"):
            return np.asarray(np.exp(self._log_quantile(checked_fractions(p))))[()]

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
        fractions = checked_fractions(p)
        if not ((fractions > 0) & (fractions < 1)).all():
            raise ValueError("limits need fractions above 0 and below 1")
        low, high = self._log_limits(fractions, method)
        with np.errstate(over="ignore"):
            return np.exp(low)[()], np.exp(high)[()]

    def failed_fraction_interval(
        self, age: ArrayLike, *, method: IntervalMethod = "wald"
    ) -> tuple[Floats, Floats]:
        """Return limits of the fraction failed by each age.

        Parameters
        ----------
        age : float or array of float
        method : {"wald", "likelihood"}
            Wald limits are symmetric in the logit of the fraction. Likelihood-ratio
            limits are those of `quantile_interval` turned round: where the age of a
            fraction has a limit, that fraction is a limit at the age.

        Returns
        -------
        low, high : float or array of float, same shape as `age`
            Within [0, 1]; 0 and 0 at age 0.

        Raises
        ------
        ValueError
            A negative age, an unknown method.
        """
        z = self._standardised(age)
        low, high = self.failed_fraction(age), self.failed_fraction(age)
        low, high = np.array(low), np.array(high)
        inside = np.abs(z) < LARGEST_Z
        log_age = (z[inside] + self._best.point[0]) / self._best.point[1]
        spread = self._spread
        error = np.sqrt(
            spread[0, 0] - 2 * spread[0, 1] * log_age + spread[1, 1] * log_age**2
        )
        if _is_wald(method):
            limits = self._logit_limits(z[inside], error)
        else:
            lines = [FractionAtAge(float(v)) for v in log_age]
            limits = self._likelihood_limits(lines, z[inside], error)
            limits = self._law.fraction(limits[0]), self._law.fraction(limits[1])
        low[inside], high[inside] = limits
        return low[()], high[()]

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
            if name == "mu":
                low, high = self._log_limits(np.array(0.5), method)
            else:
                low, high = self.quantile_interval(-np.expm1(-1), method=method)
            return float(low), float(high)
        rho = float(self._best.point[1])
        error = float(np.sqrt(self._spread[1, 1])) / rho
        low_log, high_log = self._profile().limits(
            LogOfRho(), float(np.log(rho)), error, self.confidence
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

    def _log_limits(self, p: Floats, method: IntervalMethod) -> tuple[Floats, Floats]:
        centre, error = self._log_quantile(p), self._log_error(p)
        if _is_wald(method):
            reach = normal_quantile(self.confidence) * error
            return centre - reach, centre + reach
        lines = [AgeOfFraction(float(z)) for z in self._law.quantile(p).flat]
        reference = self._records.log_reference
        low, high = self._likelihood_limits(lines, centre - reference, error)
        return low + reference, high + reference

    def _log_error(self, p: Floats) -> Floats:
        alpha, rho = self._best.point
        by_rho = -(alpha + self._law.quantile(p)) / rho**2
        variance = (
            self._spread[0, 0] / rho**2
            + 2 * self._spread[0, 1] * by_rho / rho
            + self._spread[1, 1] * by_rho**2
        )
        return np.asarray(np.sqrt(variance))

    def _logit_limits(self, z: Floats, error: Floats) -> tuple[Floats, Floats]:
        with np.errstate(over="ignore"):
            failed, survives = self._law.failed(z), self._law.survives(z)
            logit = failed.value - survives.value
            reach = normal_quantile(self.confidence) * error
            reach = reach * (failed.slope - survives.slope)
        return special.expit(logit - reach), special.expit(logit + reach)

    def _likelihood_limits(
        self, lines: Sequence[Line], centre: Floats, error: Floats
    ) -> tuple[Floats, Floats]:
        """Return the limits of as many quantities, in the shape of `centre`."""
        profile = self._profile()
        limits = [
            profile.limits(line, float(value), float(spread), self.confidence)
            for line, value, spread in zip(lines, centre.flat, error.flat, strict=True)
        ]
        low, high = np.reshape(limits, (-1, 2)).T
        return low.reshape(centre.shape), high.reshape(centre.shape)

    def _profile(self) -> Profile:
        has_free_rho = len(self.parameters) > 1
        return Profile(self._records, self._law, self._best, has_free_rho)


def _is_wald(method: str) -> bool:
    if method not in {"wald", "likelihood"}:
        raise ValueError(f"method must be wald or likelihood, got {method!r}")
    return method == "wald"
