"""Likelihood-ratio limits: where twice the drop in log-likelihood meets chi-square.

A quantity held at a value leaves a line in (alpha, rho), see `likelihood`. The largest
log-likelihood on that line, as the value moves, is the profile; its limits are looked
for on the root of twice the drop, which is nearly a straight line. Value and place on
the line move together (D. J. Venzon and S. H. Moolgavkar, Applied Statistics 37 (1988)
87, from memory), so that a limit costs some four evaluations.
"""

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from analytics.statistics.counts import Floats, normal_quantile
from analytics.statistics.fitting import Maximum, evaluated, is_finite, maximise
from analytics.statistics.likelihood import Records, StandardLaw

# Where the search for a limit gives up, in the logarithm of age or of shape: e^700 is
# the largest number a float can hold.
FARTHEST = 700.0
MAX_STEPS = 200
# A profile flattens on its way to a level it never passes. Where, twice in a row, it
# would have to go on straight for ten times as far as it has come, there is no limit;
# farther out the digits of delayed entry are lost.
TOO_FAR, FLAT = 10.0, 2
# In standard errors: the search ends at a step this small, as the next one would move
# the limit by its square, or where the limit is shut in so closely.
CLOSE, SHUT_IN = 1e-5, 1e-9
# Twice the log-likelihood a place on the line may lack: to be refined as the value
# moves; to tell on which side of the limit it lies, and to be the end.
NEAR, SURE = 1e-1, 1e-6
SHORTER = 2  # times a step is halved before the top of its line is searched for


class Line(Protocol):
    """The laws that give a quantity one value, by their free parameter."""

    def law(self, value: float, free: float) -> Floats:
        """Return (alpha, rho)."""

    def free_of(self, law: Floats) -> float:
        """Return the free parameter of (alpha, rho)."""

    def along(self, value: float) -> Floats:
        """Return the derivative of the law by the free parameter."""

    def across(self, free: float, value: float) -> Floats:
        """Return the derivative of the law by the value."""


class AgeOfFraction(NamedTuple):
    """The value is the log of the age at which a fraction with this z has failed."""

    z: float

    def law(self, value: float, free: float) -> Floats:
        """Return alpha = rho value - z, and rho."""
        return np.array([free * value - self.z, free])

    def free_of(self, law: Floats) -> float:
        """Return rho."""
        return float(law[1])

    def first(self, best: Floats, spread: Floats, root: float, side: float) -> float:
        """Return the limit of normal estimates (Fieller 1954, from memory), or nan."""
        top, square = best[0] + self.z, root**2
        a = best[1] ** 2 - square * spread[1, 1]
        b = best[1] * top - square * spread[0, 1]
        c = top**2 - square * spread[0, 0]
        inside = b**2 - a * c
        if not (a > 0 and inside > 0):
            return np.nan
        return float((b + side * np.sqrt(inside)) / a)

    def along(self, value: float) -> Floats:
        """Return the derivative of the law by rho."""
        return np.array([value, 1.0])

    def across(self, free: float, value: float) -> Floats:  # noqa: ARG002 - see Line
        """Return the derivative of the law by the value."""
        return np.array([free, 0.0])


class FractionAtAge(NamedTuple):
    """The value is the z of the fraction failed by this age (a logarithm)."""

    log_age: float

    def law(self, value: float, free: float) -> Floats:
        """Return alpha = rho log_age - value, and rho."""
        return np.array([free * self.log_age - value, free])

    def free_of(self, law: Floats) -> float:
        """Return rho."""
        return float(law[1])

    def along(self, value: float) -> Floats:  # noqa: ARG002 - see Line
        """Return the derivative of the law by rho."""
        return np.array([self.log_age, 1.0])

    def across(self, free: float, value: float) -> Floats:  # noqa: ARG002 - see Line
        """Return the derivative of the law by the value."""
        return np.array([-1.0, 0.0])


class LogOfRho(NamedTuple):
    """The value is the logarithm of rho."""

    def law(self, value: float, free: float) -> Floats:
        """Return alpha, and the exponential of the value."""
        return np.array([free, np.exp(value)])

    def free_of(self, law: Floats) -> float:
        """Return alpha."""
        return float(law[0])

    def along(self, value: float) -> Floats:  # noqa: ARG002 - see Line
        """Return the derivative of the law by alpha."""
        return np.array([1.0, 0.0])

    def across(self, free: float, value: float) -> Floats:  # noqa: ARG002 - see Line
        """Return the derivative of the law by the value."""
        return np.array([0.0, np.exp(value)])


class Place(NamedTuple):
    """The top of a line, as seen from a law near it."""

    seen_from: Maximum
    free: float
    drop: float  # twice the log-likelihood below the maximum
    drop_by_value: float
    left: float  # twice the log-likelihood between the law and the top


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
        # A law far from the maximum may overflow; the search then turns back.
        with np.errstate(over="ignore", invalid="ignore"):
            low, high = (
                centre + step * self._distance(line, centre, step, root)
                for step in (-error, error)
            )
        return low, high

    def _distance(self, line: Line, centre: float, step: float, root: float) -> float:
        """Return how many steps from the centre the root of the drop is."""
        inner, outer = 0.0, np.inf  # known to lie before the limit, and beyond it
        farthest, n_flat, n_short = FARTHEST / abs(step), 0, 0
        distance, at = min(self._first(line, centre, step, root), farthest), 0.0
        near = Place(self.best, line.free_of(self.best.point), 0.0, 0.0, 0.0)
        for _ in range(MAX_STEPS):
            value = centre + step * distance
            place = self._predicted(line, value, near)
            if place is None and n_short < SHORTER:
                # Too far to see the same top: go half as far from where it was seen.
                n_short, distance = n_short + 1, (at + distance) / 2
                continue
            near = place or self._climbed(line, value, near)
            at, n_short = distance, 0
            guess = _guess(near, distance, step, root)
            if near.drop < root**2 and near.left <= SURE:
                inner = distance
                n_flat = n_flat + 1 if guess > TOO_FAR * distance else 0
            elif near.left <= SURE or near.drop > 4 * root**2:
                outer = distance
            if abs(guess - distance) <= CLOSE and near.left <= SURE:
                return guess
            if inner >= farthest or n_flat >= FLAT:
                return np.inf
            if outer - inner <= SHUT_IN:
                return distance
            distance = min(_within(guess, inner, outer, distance), farthest)
        return distance

    def _first(self, line: Line, centre: float, step: float, root: float) -> float:
        """Return the distance of the limit if the estimates were normal."""
        if isinstance(line, AgeOfFraction) and self.has_free_rho:
            spread = np.asarray(np.linalg.inv(-self.best.hessian), dtype=np.float64)
            value = line.first(self.best.point, spread, root, float(np.sign(step)))
            if (value - centre) / step > 0:
                return (value - centre) / step
        return root

    def _predicted(self, line: Line, value: float, near: Place) -> Place | None:
        """Return the top of the line, if it is where the last place predicts it."""
        old, along = near.seen_from, line.along(value)
        law = line.law(value, near.free)
        if self.has_free_rho:
            # The top of the line where the log-likelihood were a parabola.
            slope = along @ (old.gradient + old.hessian @ (law - old.point))
            bend = -float(along @ old.hessian @ along)
            if not bend > 0:
                return None
            law = line.law(value, near.free + float(slope) / bend)
        if not law[1] > 0:
            return None
        found = evaluated(self.records, self.law, law)
        if not is_finite(found.value, found.gradient, found.hessian):
            return None
        place = self._seen_from(line, value, found)
        return place if place.left <= NEAR else None

    def _climbed(self, line: Line, value: float, near: Place) -> Place:
        """Return the top of the line by a search, or the highest place it reaches."""
        along = line.along(value)[:, None] * float(self.has_free_rho)
        start = line.law(value, near.free)
        found = maximise(self.records, self.law, start, along, close=SURE / 100)
        if not is_finite(found.value, found.gradient, found.hessian):
            return near._replace(drop=np.inf, left=0.0)
        return self._seen_from(line, value, found)._replace(left=0.0)

    def _seen_from(self, line: Line, value: float, found: Maximum) -> Place:
        """Return the top of the line through a law by one Newton step from it."""
        free, gradient = line.free_of(found.point), found.gradient
        to_top = left = 0.0
        if self.has_free_rho:
            along = line.along(value)
            bent = found.hessian @ along
            slope, bend = float(gradient @ along), -float(along @ bent)
            if bend > 0 and slope / bend * slope <= NEAR:
                to_top = slope / bend
                left = slope * to_top
                gradient = gradient + to_top * bent
            else:
                left = np.inf  # no top in sight: nothing to predict
        drop = 2 * (self.best.value - found.value) - (left if to_top else 0.0)
        return Place(
            seen_from=found,
            free=free + to_top,
            drop=max(drop, 0.0),
            drop_by_value=-2 * float(gradient @ line.across(free + to_top, value)),
            left=left,
        )


def _guess(place: Place, distance: float, step: float, root: float) -> float:
    """Return where a straight line through the root of the drop meets the limit."""
    size, slope = float(np.sqrt(place.drop)), step * place.drop_by_value / 2
    return distance - (size - root) * size / slope if slope > 0 else np.inf


def _within(guess: float, inner: float, outer: float, distance: float) -> float:
    """Return the guess, or a point of the bracket where it leaves that."""
    if not np.isfinite(outer):
        # Nothing is known to lie beyond the limit yet.
        return min(guess, 2 * distance) if guess > inner else 1.5 * inner
    if inner < guess < outer:
        return guess
    return (inner + outer) / 2
