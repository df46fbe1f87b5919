"""Likelihood-ratio limits: where twice the drop in log-likelihood meets chi-square.

A quantity held at a value leaves a line in (alpha, rho), see `likelihood`. The largest
log-likelihood on that line, as the value moves, is the profile; its limits are looked
for on the root of twice the drop, which is nearly a straight line.
"""

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from analytics.statistics.counts import Floats, normal_quantile
from analytics.statistics.fitting import Maximum, maximise
from analytics.statistics.likelihood import Records, StandardLaw

# Where the search for a limit gives up, in the logarithm of age or of shape: e^700 is
# the largest number a float can hold.
FARTHEST = 700.0
MAX_STEPS = 200
# The search ends at a step this small against the standard error: the next one would
# move the limit by its square.
CLOSE = 1e-7
# Twice the log-likelihood still to gain on the line: a root of the drop within 1e-10.
CLOSE_ON_LINE = 1e-10


class Line(Protocol):
    """The laws (alpha, rho) that give a quantity one value."""

    def start(self, value: float, near: Floats) -> Floats:
        """Return the law of that value that is nearest in its free parameter."""

    def direction(self, value: float) -> Floats:
        """Return the direction of the line, shape (2,)."""

    def by_value(self, point: Floats) -> Floats:
        """Return how the law moves with the value, shape (2,)."""


class AgeOfFraction(NamedTuple):
    """The value is the log of the age at which a fraction with this z has failed."""

    z: float

    def start(self, value: float, near: Floats) -> Floats:
        """Return the law with the same rho."""
        return np.array([near[1] * value - self.z, near[1]])

    def direction(self, value: float) -> Floats:
        """Return the direction along which alpha = rho value - z."""
        return np.array([value, 1.0])

    def by_value(self, point: Floats) -> Floats:
        """Return the move of alpha."""
        return np.array([point[1], 0.0])


class FractionAtAge(NamedTuple):
    """The value is the z of the fraction failed by this age (a logarithm)."""

    log_age: float

    def start(self, value: float, near: Floats) -> Floats:
        """Return the law with the same rho."""
        return np.array([near[1] * self.log_age - value, near[1]])

    def direction(self, value: float) -> Floats:  # noqa: ARG002 - the same for all
        """Return the direction along which alpha = rho log_age - value."""
        return np.array([self.log_age, 1.0])

    def by_value(self, point: Floats) -> Floats:  # noqa: ARG002 - the same for all
        """Return the move of alpha."""
        return np.array([-1.0, 0.0])


class LogOfRho(NamedTuple):
    """The value is the logarithm of rho."""

    def start(self, value: float, near: Floats) -> Floats:
        """Return the law with the same alpha."""
        return np.array([near[0], np.exp(value)])

    def direction(self, value: float) -> Floats:  # noqa: ARG002 - the same for all
        """Return the direction of alpha."""
        return np.array([1.0, 0.0])

    def by_value(self, point: Floats) -> Floats:
        """Return the move of rho."""
        return np.array([0.0, point[1]])


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """The log-likelihood around its maximum."""

    records: Records
    law: StandardLaw
    best: Maximum
    has_free_rho: bool  # False: rho stays as it is (exponential)

    def limits(
        self, line: Line, centre: float, error: float, confidence: float
    ) -> tuple[float, float]:
        """Return the likelihood-ratio limits of the quantity of a line.

        Parameters
        ----------
        line : Line
        centre, error : float
            The quantity's estimate and standard error.
        confidence : float

        Returns
        -------
        low, high : float
            A limit the likelihood does not reach is -inf or inf.
        """
        root = normal_quantile(confidence)
        error = max(error, 1e-9)
        low, high = (
            centre + side * self._distance(line, centre, side * error, root)
            for side in (-1.0, 1.0)
        )
        return low, high

    def _distance(self, line: Line, centre: float, step: float, root: float) -> float:
        """Return how far from the centre, towards `step`, the root of the drop is."""
        error, near = abs(step), self.best
        side = step / error
        inner, outer = 0.0, np.inf
        distance = root * error
        for _ in range(MAX_STEPS):
            value = centre + side * distance
            found = self._maximum(line, value, near)
            is_found = bool(np.isfinite(found.value))
            if is_found:
                near = found
                drop = max(2 * (self.best.value - found.value), 0.0)
                slope = -side * float(found.gradient @ line.by_value(found.point))
                excess = float(np.sqrt(drop)) - root
            if is_found and excess < 0:
                inner = distance
            else:
                outer = distance
            if inner >= FARTHEST:
                return np.inf
            guess = np.inf
            if is_found and slope > 0:
                guess = distance - excess * float(np.sqrt(drop)) / slope
            if abs(guess - distance) <= CLOSE * error or outer - inner <= CLOSE * error:
                return guess if inner <= guess <= outer else distance
            distance = _within(guess, inner, outer)
        return distance

    def _maximum(self, line: Line, value: float, near: Maximum) -> Maximum:
        start = line.start(value, near.point)
        free = line.direction(value)[:, None] * float(self.has_free_rho)
        return maximise(self.records, self.law, start, free, close=CLOSE_ON_LINE)


def _within(guess: float, inner: float, outer: float) -> float:
    """Return the guess, or a point of the bracket where it leaves that."""
    if not np.isfinite(outer):
        return min(max(guess, 1.01 * inner), 3 * inner)
    if inner < guess < outer:
        return guess
    return (inner + outer) / 2
