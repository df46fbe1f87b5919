"""Likelihood of life counts under a law that is a line in the logarithm of age.

Every law here has z = rho ln(age / reference) - alpha with a standard distribution of
z: smallest extreme value for Weibull (rho = shape) and exponential (rho = 1), normal
for lognormal (rho = 1 / sigma). z is linear in (alpha, rho), and ln f, ln S, ln F and
ln of an interval's probability are concave in z, so that without delayed entry the
log-likelihood has one maximum at most (Burridge 1981; interval terms by Prekopa).
Delayed entry subtracts ln S(entry), which is not concave.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple, Protocol

import numpy as np
from scipy import special

from analytics.statistics.counts import Floats

Distribution = Literal["weibull", "lognormal", "exponential"]

HALF_LOG_TWO_PI = 0.5 * float(np.log(2 * np.pi))
LARGEST_EXPONENT = 700.0  # exp of more is not a number a float can hold


class Terms(NamedTuple):
    """Log-likelihood of each record, and its derivatives by z."""

    value: Floats
    slope: Floats
    curvature: Floats


class IntervalTerms(NamedTuple):
    """Log-probability of each interval, and its derivatives by both ends."""

    value: Floats
    slope_low: Floats
    slope_high: Floats
    curvature_low: Floats
    curvature_mixed: Floats
    curvature_high: Floats


class StandardLaw(Protocol):
    """A standard distribution of z with concave logarithms."""

    def density(self, z: Floats) -> Terms:
        """Return ln f and derivatives."""

    def survives(self, z: Floats) -> Terms:
        """Return ln S and derivatives."""

    def failed(self, z: Floats) -> Terms:
        """Return ln F and derivatives."""

    def between(self, z: Floats, width: Floats) -> IntervalTerms:
        """Return ln(S(z) - S(z + width)) and derivatives."""

    def quantile(self, p: Floats) -> Floats:
        """Return z with F(z) = p."""

    def fraction(self, z: Floats) -> Floats:
        """Return F(z)."""

    def fraction_left(self, z: Floats) -> Floats:
        """Return S(z)."""


class ExtremeValue:
    """Smallest extreme value: S(z) = exp(-exp(z))."""

    def density(self, z: Floats) -> Terms:
        """Return z - exp(z) and derivatives."""
        hazard = np.exp(z)
        return Terms(z - hazard, 1 - hazard, -hazard)

    def survives(self, z: Floats) -> Terms:
        """Return -exp(z) and derivatives."""
        hazard = np.exp(z)
        return Terms(-hazard, -hazard, -hazard)

    def failed(self, z: Floats) -> Terms:
        """Return ln(1 - exp(-exp(z))) and derivatives."""
        hazard = np.exp(np.clip(z, -LARGEST_EXPONENT, LARGEST_EXPONENT))
        fraction = -np.expm1(-hazard)
        slope = hazard * np.exp(-hazard) / fraction
        # Of a hazard too small for a number the logarithm is z.
        value = np.log(fraction) + np.minimum(z + LARGEST_EXPONENT, 0)
        return Terms(value, slope, slope * (1 - hazard) - slope**2)

    def between(self, z: Floats, width: Floats) -> IntervalTerms:
        """Return ln(S(z) - S(z + width)) and derivatives."""
        low = np.exp(z)
        high = np.exp(np.minimum(z + width, LARGEST_EXPONENT))
        # A narrow interval keeps its digits; a wide one may begin too early for low to
        # be a number that times the growth of high gives high.
        growth = np.where(width < 1, low * np.expm1(np.minimum(width, 1)), high - low)
        share = -np.expm1(-growth)
        down, up = low / share, high * np.exp(-growth) / share
        return IntervalTerms(
            value=np.log(share) - low,
            slope_low=-down,
            slope_high=up,
            curvature_low=-down * (1 - low) - down**2,
            curvature_mixed=down * up,
            curvature_high=up * (1 - high) - up**2,
        )

    def quantile(self, p: Floats) -> Floats:
        """Return ln(-ln(1 - p))."""
        return np.asarray(np.log(-np.log1p(-p)))

    def fraction(self, z: Floats) -> Floats:
        """Return 1 - exp(-exp(z))."""
        with np.errstate(over="ignore"):
            return np.asarray(-np.expm1(-np.exp(z)))

    def fraction_left(self, z: Floats) -> Floats:
        """Return exp(-exp(z))."""
        with np.errstate(over="ignore"):
            return np.asarray(np.exp(-np.exp(z)))


class Normal:
    """Standard normal."""

    def density(self, z: Floats) -> Terms:
        """Return ln phi(z) and derivatives."""
        return Terms(-0.5 * z**2 - HALF_LOG_TWO_PI, -z, np.full_like(z, -1.0))

    def survives(self, z: Floats) -> Terms:
        """Return ln Phi(-z) and derivatives."""
        value = special.log_ndtr(-z)
        hazard = np.exp(-0.5 * z**2 - HALF_LOG_TWO_PI - value)
        return Terms(value, -hazard, -hazard * (hazard - z))

    def failed(self, z: Floats) -> Terms:
        """Return ln Phi(z) and derivatives."""
        value, slope, curvature = self.survives(-z)
        return Terms(value, -slope, curvature)

    def between(self, z: Floats, width: Floats) -> IntervalTerms:
        """Return ln(Phi(z + width) - Phi(z)) and derivatives."""
        end = z + width
        # In the upper tail the difference is taken of the survivals: no cancellation.
        flipped = z + end > 0
        larger = special.log_ndtr(np.where(flipped, -z, end))
        smaller = special.log_ndtr(np.where(flipped, -end, z))
        value = larger + np.log(-np.expm1(smaller - larger))
        down = np.exp(-0.5 * z**2 - HALF_LOG_TWO_PI - value)
        up = np.exp(-0.5 * end**2 - HALF_LOG_TWO_PI - value)
        return IntervalTerms(
            value=value,
            slope_low=-down,
            slope_high=up,
            curvature_low=down * z - down**2,
            curvature_mixed=down * up,
            curvature_high=-up * end - up**2,
        )

    def quantile(self, p: Floats) -> Floats:
        """Return the normal quantile."""
        return np.asarray(special.ndtri(p))

    def fraction(self, z: Floats) -> Floats:
        """Return Phi(z)."""
        return np.asarray(special.ndtr(z))

    def fraction_left(self, z: Floats) -> Floats:
        """Return Phi(-z)."""
        return np.asarray(special.ndtr(-z))


LAWS: dict[str, StandardLaw] = {
    "weibull": ExtremeValue(),
    "lognormal": Normal(),
    "exponential": ExtremeValue(),
}


def law_named(distribution: str) -> StandardLaw:
    """Return the standard law of a distribution; ValueError where there is none."""
    if distribution not in LAWS:
        raise ValueError(
            f"distribution must be {', '.join(LAWS)}, got {distribution!r}"
        )
    return LAWS[distribution]


@dataclass(frozen=True, slots=True, eq=False)
class Records:
    """Counts of life records; ages as logarithms over a reference age."""

    exact: Floats
    n_exact: Floats
    # Still working; with a minus sign, the entries of those seen only from an age on.
    right: Floats
    n_right: Floats
    left: Floats  # failed by that age
    n_left: Floats
    low: Floats  # failed between low and low + width
    width: Floats
    n_between: Floats
    constant: float  # what the change to logarithms takes from the log-likelihood
    log_reference: float


def log_likelihood(
    records: Records, law: StandardLaw, point: Floats
) -> tuple[float, Floats, Floats]:
    """Return the log-likelihood at (alpha, rho), its gradient and its Hessian."""
    alpha, rho = float(point[0]), float(point[1])
    value, gradient, hessian = records.constant, np.zeros(2), np.zeros((2, 2))
    singles = (
        (records.exact, records.n_exact, law.density),
        (records.right, records.n_right, law.survives),
        (records.left, records.n_left, law.failed),
    )
    for y, n, terms_of in singles:
        if len(y):
            terms = terms_of(rho * y - alpha)
            slope, bend = n * terms.slope, n * terms.curvature
            value += float(n @ terms.value)
            gradient += (-slope.sum(), slope @ y)
            mixed = -(bend @ y)
            hessian += ((bend.sum(), mixed), (mixed, bend @ y**2))
    if len(records.exact):
        n_exact = float(records.n_exact.sum())
        value += n_exact * float(np.log(rho))
        gradient[1] += n_exact / rho
        hessian[1, 1] -= n_exact / rho / rho  # a square may round to 0
    if len(records.low):
        terms_between = law.between(rho * records.low - alpha, rho * records.width)
        _add_intervals(records, terms_between, gradient, hessian)
        value += float(records.n_between @ terms_between.value)
    return value, gradient, hessian


def _add_intervals(
    records: Records, terms: IntervalTerms, gradient: Floats, hessian: Floats
) -> None:
    n, low, high = records.n_between, records.low, records.low + records.width
    gradient += (
        -(n @ (terms.slope_low + terms.slope_high)),
        n @ (terms.slope_low * low + terms.slope_high * high),
    )
    at_low = terms.curvature_low + terms.curvature_mixed
    at_high = terms.curvature_high + terms.curvature_mixed
    mixed = -(n @ (at_low * low + at_high * high))
    squares = (
        terms.curvature_low * low**2
        + 2 * terms.curvature_mixed * low * high
        + terms.curvature_high * high**2
    )
    hessian += ((n @ (at_low + at_high), mixed), (mixed, n @ squares))
