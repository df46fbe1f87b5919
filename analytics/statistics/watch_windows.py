"""The likelihood ratio of the last 3, 6 and 12 looks against what came before."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.counts import Floats
from analytics.statistics.quiet_fleet import Numbers

WINDOWS = (3, 6, 12)
MEMORY = 12  # looks: the longest window, and how far back the baseline ends
LEAST_RISE, MOST_RISE = 1.5, 3.0
LEAST_FAILURES = 2  # in a window
SILENCE = 12  # looks after an alarm in which its stratum raises none

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class RunningSums:
    """Scaled failures and expected ones of all looks before one, by column.

    A column is a stratum, or a stratum in one replicate.
    """

    failures: Numbers  # (T + 1, S)
    expected: Numbers  # (T + 1, S)
    n_here: NDArray[np.uint8]  # (T, S): 0, 1, or 2 for two failures and more
    # What is known of the level before each look, as a gamma: it starts from the
    # siblings, and the older a look, the less it says where levels drift.
    alpha: Numbers  # (T + 1, S)
    beta: Numbers  # (T + 1, S)
    drift: Numbers  # (S,)

    def columns(self, which: Indices) -> "RunningSums":
        """Return the sums of some columns."""
        return RunningSums(
            failures=self.failures[:, which],
            expected=self.expected[:, which],
            n_here=self.n_here[:, which],
            alpha=self.alpha[:, which],
            beta=self.beta[:, which],
            drift=self.drift[which],
        )


def running_sums(
    y: Numbers, m: Numbers, spread: Numbers, prior: Floats, drift: Floats
) -> RunningSums:
    """Add up failures and expected ones (T, S), each over `spread`, look by look.

    `prior` is 1 / level variance, `drift` the variance of a level's steps, (S,) both.
    """
    n_looks, n_columns = y.shape
    failures = np.zeros((n_looks + 1, n_columns), dtype=y.dtype)
    expected = np.zeros_like(failures)
    np.divide(y, spread, out=failures[1:])
    np.divide(m, spread, out=expected[1:])
    for sums in (failures, expected):
        for look in range(n_looks):  # row by row: faster than down the columns
            sums[look + 1] += sums[look]
    n_here = np.minimum(y, LEAST_FAILURES).astype(np.uint8)
    alpha, beta = _levels(failures, expected, prior.astype(y.dtype), drift)
    return RunningSums(failures, expected, n_here, alpha, beta, drift.astype(y.dtype))


def _levels(
    failures: Numbers, expected: Numbers, prior: Numbers, drift: Floats
) -> tuple[Numbers, Numbers]:
    alpha, beta = failures + prior, expected + prior
    if not drift.any():
        return alpha, beta
    step = drift.astype(prior.dtype)
    for look in range(len(failures) - 1):
        # A step of the level adds to its relative variance, 1 / alpha.
        kept = 1 / (1 + alpha[look] * step)
        alpha[look + 1] = alpha[look] * kept + (failures[look + 1] - failures[look])
        beta[look + 1] = beta[look] * kept + (expected[look + 1] - expected[look])
    return alpha, beta


def faded(alpha: Numbers, drift: Numbers, looks: Indices) -> Numbers:
    """Return the shape of a level so many looks on; windows lie halfway on average."""
    return np.asarray(alpha / (1 + alpha * drift * (looks / 2).astype(alpha.dtype)))


def evidence_at(
    sums: RunningSums, look: Indices, column: Indices, restart: Indices
) -> tuple[Numbers, NDArray[np.int64]]:
    """Return the evidence at cells with a failure, and the window that shows most.

    Parameters
    ----------
    sums : RunningSums
    look, column : array of int, shape (n,)
    restart : array of int, shape (n,)
        The look after the last alarm of the column, 0 without one: no window reaches
        over it, and the baseline holds all before it.

    Returns
    -------
    evidence, window : array, shape (n,)
        0 where no window holds two failures and 1.5 times the expected ones.
    """
    here = look + 1
    base = np.maximum(here - MEMORY, restart)
    alpha = sums.alpha[base, column]
    level = alpha / sums.beta[base, column]
    alpha = faded(alpha, sums.drift[column], here - base)
    before = sums.failures[look, column]
    last, last_expected = sums.failures[here, column], sums.expected[here, column]
    is_pair = sums.n_here[look, column] >= LEAST_FAILURES
    best = np.zeros(look.shape, dtype=last.dtype)
    window = np.full(look.shape, WINDOWS[-1], dtype=np.int64)
    for length in WINDOWS:
        start = np.maximum(here - length, restart)
        np.maximum(start, 0, out=start)
        first = sums.failures[start, column]
        n = last - first
        m = level * (last_expected - sums.expected[start, column])
        # Two failures in the window: both in this look, or one before it.
        able = np.flatnonzero((n > LEAST_RISE * m) & (is_pair | (before > first)))
        found = likelihood_ratio(n[able], m[able], alpha[able], LEAST_RISE, MOST_RISE)
        better = found > best[able]
        best[able[better]] = found[better]
        window[able[better]] = length
    return best, window


def likelihood_ratio(
    n: Numbers, m: Numbers, alpha: Numbers, least: float, most: float
) -> Numbers:
    """Return the log ratio of a rise, the level being gamma with shape `alpha`.

    n failures where m > 0 were expected; the rise is n / m, within the limits. With a
    large shape it is the Poisson ratio.
    """
    rise = np.clip(n / np.maximum(m, np.finfo(m.dtype).tiny), least, most)
    ratio: Numbers = n * np.log(rise)
    ratio -= (alpha + n) * np.log1p((rise - 1) * m / (alpha + m))
    return ratio


def all_evidence(sums: RunningSums) -> tuple[Indices, Indices, Numbers]:
    """Return look, column and evidence wherever there is some, with no alarm before.

    In order of look, then column.
    """
    n_looks, n_columns = sums.n_here.shape
    looks = np.arange(1, n_looks + 1)
    base = np.maximum(looks - MEMORY, 0)
    level = sums.alpha[base]
    level /= sums.beta[base]
    level *= LEAST_RISE
    is_raised = np.zeros((n_looks, n_columns), dtype=bool)
    for length in WINDOWS:
        start = np.maximum(looks - length, 0)
        m = sums.expected[1:] - sums.expected[start]
        m *= level
        is_raised |= sums.failures[1:] - sums.failures[start] > m
    is_raised &= sums.n_here > 0
    look, column = np.nonzero(is_raised)
    evidence, _ = evidence_at(sums, look, column, np.zeros_like(look))
    some = evidence > 0
    return look[some], column[some], evidence[some]
