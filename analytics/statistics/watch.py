"""The Poisson CUSUM: excess failures added up, and how long until it signals.

A building block. The alarms of the watch come from `watch_evidence`, which also knows
that rates differ between strata and scatter more than Poisson counts.
"""

import math
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.statistics.counts import Bools, Floats, checked_counts

# A path is a sum of roundings: within this of a border it is on it.
ROUNDING = 1e-9
# Runs that have neither ended nor signalled are followed until they are that small a
# share of those that have signalled; or until they shrink so alike from one stretch of
# steps to the next that the rest is a geometric series, to the precision given.
LEFT = 1e-12
STRETCH = 1024
PRECISION = 1e-7
MOST_STEPS = 2_000_000
MOST_EVENTS = 20_000
NOTHING = 1e-30  # a share of a chance that no sum would show
# Where a look expects little, the same numbers of events go on for many looks.
LEAST_JUMP, MOST_STATES = 32, 200


@dataclass(frozen=True, slots=True, eq=False)
class PoissonCusum:
    """Excess events so far by look, and where they reach the threshold."""

    path: Floats
    signals: Bools


def poisson_cusum(
    n_events: ArrayLike,
    n_expected: ArrayLike,
    *,
    rate_ratio: float = 2.0,
    threshold: float,
) -> PoissonCusum:
    """Add up events beyond what is expected, upward only.

    Parameters
    ----------
    n_events : array of int, shape (T,)
    n_expected : float or array of float, shape (T,)
        Events expected in each look.
    rate_ratio : float, default 2
        The rise to be found, above 1.
    threshold : float
        In events; reached is enough.

    Returns
    -------
    PoissonCusum
        The path starts from 0 and is never reset.

    Raises
    ------
    ValueError
        Counts that are negative or not whole, expected ones that are negative, a rate
        ratio not above 1, a threshold that is not a number.

    Notes
    -----
    path_t = max(0, path_{t-1} + n_events - k), with the reference value
    k = n_expected (rate_ratio - 1) / ln(rate_ratio) (Lucas 1985). Checked against
    tests/published/test_lucas_1985.py.
    """
    per_expected = _reference(rate_ratio, threshold)
    counts = checked_counts("n_events", n_events, np.shape(n_events))
    if counts.ndim != 1:
        raise ValueError(f"n_events must have one dimension, got shape {counts.shape}")
    expected = np.asarray(n_expected, dtype=np.float64)
    if expected.shape not in {(), counts.shape}:
        raise ValueError(
            f"n_expected must have shape {counts.shape}, got {expected.shape}"
        )
    if not (np.isfinite(expected) & (expected >= 0)).all():
        raise ValueError("n_expected must be finite and not negative")
    steps = counts - per_expected * expected
    path = np.array(
        list(accumulate(steps.tolist(), lambda at, by: max(0.0, at + by), initial=0.0))
    )[1:]
    return PoissonCusum(path=path, signals=path >= threshold - _near(threshold))


def cusum_run_length(
    expected_per_look: float,
    *,
    rate_ratio: float,
    threshold: float,
    actual_ratio: float = 1.0,
) -> float:
    """Return after how many looks the Poisson CUSUM signals, on average.

    Parameters
    ----------
    expected_per_look : float
        Events expected in a look, above 0.
    rate_ratio : float
        As for `poisson_cusum`.
    threshold : float
        Any real number, in events. At or below 0 the first look signals.
    actual_ratio : float, default 1
        How many times the expected events really come.

    Returns
    -------
    float
        From 0, to 1e-4 relative; inf where it never signals.

    Raises
    ------
    ValueError
        A number out of its range, or a run too long to be followed.

    Notes
    -----
    A run from 0 ends when the path is back at 0 or signals; the mean number of looks is
    the mean length of a run over the chance that it signals. After j looks the path is
    a whole number of events less j times the reference value, so that chances of whole
    numbers are all there is to follow: exact where the Markov chain of Brook and Evans
    (1972) must round the reference value. Checked against
    tests/published/test_lucas_1985.py.
    """
    per_expected = _reference(rate_ratio, threshold)
    if not (math.isfinite(expected_per_look) and expected_per_look > 0):
        raise ValueError(
            f"expected_per_look must be finite and above 0, got {expected_per_look}"
        )
    if not (math.isfinite(actual_ratio) and actual_ratio >= 0):
        raise ValueError(
            f"actual_ratio must be finite and not negative, got {actual_ratio}"
        )
    mean = expected_per_look * actual_ratio
    if threshold <= 0:
        return 1.0
    if mean == 0 or threshold == math.inf:
        return math.inf
    if max(mean, threshold) > MOST_EVENTS:
        raise ValueError(
            f"more than {MOST_EVENTS} events, in a look or as the threshold, are not "
            "followed"
        )
    length, signalled = _run_from_zero(
        mean, expected_per_look * per_expected, threshold
    )
    return length / signalled if signalled > 0 else math.inf


class _Run(NamedTuple):
    """Chances by number of events, `low` and up, of runs that go on."""

    low: int
    chance: Floats


class _Sums(NamedTuple):
    """Looks that runs last, and chances that they signal."""

    length: float
    signalled: float


def _run_from_zero(mean: float, k: float, threshold: float) -> tuple[float, float]:
    """Return the mean length of a run from 0, and the chance that it signals."""
    chances = _Chances(mean, threshold + k)
    near = _near(threshold)
    run, step = _Run(0, np.ones(1)), 0
    done, stretch, before, shrinking = _Sums(0, 0), _Sums(0, 0), _Sums(0, 0), math.nan
    for turn in range(1, MOST_STEPS):
        run, n_steps, found = chances.go_on(run, step, k, threshold, near)
        step += n_steps
        stretch = _Sums(
            stretch.length + found.length, stretch.signalled + found.signalled
        )
        left, signalled = float(run.chance.sum()), done.signalled + stretch.signalled
        if left <= LEFT * signalled or not left:
            return done.length + stretch.length, signalled
        if turn % STRETCH:
            continue
        done = _Sums(done.length + stretch.length, signalled)
        ratio = stretch.length / before.length if before.length else math.nan
        rest = ratio / (1 - ratio)
        doubt = rest * abs(ratio - shrinking) / (ratio * (1 - ratio))
        if all(
            part * doubt <= PRECISION * whole
            for part, whole in zip(stretch, done, strict=True)
        ):
            return done.length + rest * stretch.length, done[1] + rest * stretch[1]
        stretch, before, shrinking = _Sums(0, 0), stretch, ratio
    raise ValueError(
        f"runs do not end within {MOST_STEPS} looks: lower the threshold, or make the "
        "looks longer"
    )


class _Chances:
    """Poisson chances of a look, over the numbers of events that can matter."""

    def __init__(self, mean: float, most: float) -> None:
        # Beyond forty standard deviations and some, chances are below 1e-300.
        reach = 40 * math.sqrt(mean) + 250
        self._first = max(0, math.floor(mean - reach))
        last = math.ceil(min(mean + reach, most + 1))
        n = np.arange(self._first, max(last, self._first) + 1)
        self._chance = np.exp(special.xlogy(n, mean) - mean - special.gammaln(n + 1))
        self._mean = mean
        self._powers: dict[tuple[int, int], tuple[Floats, Floats]] = {}

    def go_on(
        self, run: _Run, step: int, k: float, threshold: float, near: float
    ) -> tuple[_Run, int, _Sums]:
        """Return the run after some more looks, how many, and what was added up."""
        low = math.floor((step + 1) * k + near) + 1
        high = math.ceil(threshold + (step + 1) * k - near) - 1
        last = min(
            math.ceil((low - near) / k) - 1,
            math.floor((high + 1 + near - threshold) / k),
        )
        if last - step < LEAST_JUMP or high - run.low >= MOST_STATES or run.low < low:
            after, signalled = self._step(run, low, high)
            return after, 1, _Sums(float(run.chance.sum()), signalled)
        return self._jump(run, high, last - step)

    def _step(self, run: _Run, low: int, high: int) -> tuple[_Run, float]:
        """Return the run after one more look, and the chance that it signals in it.

        It goes on with `low` to `high` events, signals with more, ends with fewer.
        """
        signals = float(run.chance @ self._above(run, high))
        first = run.low + self._first
        after = np.convolve(run.chance, self._chance)
        after = after[max(low - first, 0) : max(high + 1 - first, 0)]
        some = np.flatnonzero(after > NOTHING * after.max(initial=0.0))
        if not len(some):
            return _Run(low, np.zeros(0)), signals
        # The few events of a run about to end are left out where they are as good as
        # none; many events never are, since signals come from there.
        return _Run(max(low, first) + int(some[0]), after[some[0] :]), signals

    def _above(self, run: _Run, high: int) -> Floats:
        """Return the chance that a look brings more than `high` events, by events."""
        to_spare = high - run.low - np.arange(len(run.chance))
        above = special.gammainc(np.maximum(to_spare, 0) + 1.0, self._mean)
        return np.where(to_spare < 0, 1.0, above)

    def _jump(self, run: _Run, high: int, n_steps: int) -> tuple[_Run, int, _Sums]:
        """Go on for looks in which runs may signal, but none ends."""
        n = high - run.low + 1
        chance = np.zeros(n)
        chance[: len(run.chance)] = run.chance
        key = (n, n_steps)
        if key not in self._powers:
            self._powers[key] = _power_and_sum(self._moves(n), n_steps)
        power, total = self._powers[key]
        spent = chance @ total
        whole = _Run(run.low, chance)
        found = _Sums(float(spent.sum()), float(spent @ self._above(whole, high)))
        return _Run(run.low, chance @ power), n_steps, found

    def _moves(self, n: int) -> Floats:
        by = np.arange(n) - np.arange(n)[:, None]
        some = (by >= self._first) & (by < self._first + len(self._chance))
        moves: Floats = np.zeros((n, n))
        moves[some] = self._chance[by[some] - self._first]
        return moves


def _power_and_sum(moves: Floats, n_steps: int) -> tuple[Floats, Floats]:
    """Return M^n and 1 + M + ... + M^(n - 1), by doubling."""
    power, total = np.eye(len(moves)), np.zeros_like(moves)
    for bit in f"{n_steps:b}":
        total = total + power @ total
        power = power @ power
        if bit == "1":
            total = total + power
            power = power @ moves
    return power, total


def _reference(rate_ratio: float, threshold: float) -> float:
    """Return the reference value per expected event."""
    if not (math.isfinite(rate_ratio) and rate_ratio > 1):
        raise ValueError(f"rate_ratio must be finite and above 1, got {rate_ratio}")
    if math.isnan(threshold):
        raise ValueError("threshold must be a number, got nan")
    return (rate_ratio - 1) / math.log1p(rate_ratio - 1)


def _near(threshold: float) -> float:
    return ROUNDING * max(1.0, abs(threshold)) if math.isfinite(threshold) else 0.0
