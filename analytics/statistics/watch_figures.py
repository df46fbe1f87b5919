"""The figures of an alarm: since when, how many against how many, how much more."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from analytics.statistics.counts import Floats, normal_quantile
from analytics.statistics.quiet_fleet import Numbers, QuietFleet, checked_looks
from analytics.statistics.quiet_scaling import look_totals, shocked_looks
from analytics.statistics.watch_windows import (
    MEMORY,
    WINDOWS,
    evidence_at,
    likelihood_ratio,
    running_sums,
)

MOST_RISE_SINCE = 5.0


@dataclass(frozen=True, slots=True)
class AlarmFigures:
    """One alarm in numbers, as `Watched` names them."""

    window: int
    since: int
    evidence: float
    observed: int
    expected: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RatioAfter:
    """Failures of the looks after an alarm against those expected; nan without any."""

    observed: int
    expected: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class OneStratum:
    """A stratum look by look (T,): counts, and the same scaled."""

    n_failures: Numbers
    shocked: Numbers  # expected with the look's shock
    spread: Numbers
    prior: float  # 1 / level variance
    drift: float  # variance of a step of the level

    @property
    def failures(self) -> Floats:
        """Scaled failures by look."""
        return np.asarray(self.n_failures / self.spread, dtype=np.float64)

    @property
    def expected(self) -> Floats:
        """Scaled expected failures by look."""
        return np.asarray(self.shocked / self.spread, dtype=np.float64)

    def level_before(self, look: int) -> tuple[float, float]:
        """Return shape and mean of the level, from the looks before one."""
        alpha = beta = self.prior
        for n, m in zip(self.failures[:look], self.expected[:look], strict=True):
            kept = 1 / (1 + alpha * self.drift)
            alpha, beta = alpha * kept + float(n), beta * kept + float(m)
        return alpha, alpha / beta


def strata_by_look(
    n_failures: ArrayLike,
    n_expected: ArrayLike,
    fit: QuietFleet,
    strata: ArrayLike,
) -> list[OneStratum]:
    """Return some strata of (T, N) counts, with the shocks that all of them show."""
    y, e, _ = checked_looks(n_failures, n_expected)
    y, e = y[:, 0], e[:, 0]
    totals, found = look_totals(y, e, fit), []
    for stratum in np.asarray(strata, dtype=np.int64):
        part = slice(int(stratum), int(stratum) + 1)
        m, spread = shocked_looks(y[:, part], e[:, part], fit, totals, part)
        prior = 1 / float(fit.level_variance)
        drift = float(fit.level_drift)
        found.append(OneStratum(y[:, stratum], m[:, 0], spread[:, 0], prior, drift))
    return found


def figures_of_alarm(one: OneStratum, look: int, restart: int) -> AlarmFigures:
    """Return the figures of an alarm.

    Parameters
    ----------
    one : OneStratum
    look : int
        The look of the alarm.
    restart : int
        The look after the alarm before, 0 without one.
    """
    evidence, window = _evidence(one, look, restart)
    here = slice(max(look + 1 - window, restart, 0), look + 1)
    _, level = one.level_before(max(look + 1 - MEMORY, restart))
    since = _start_of_excess(one, look, restart)
    ratio = _ratio(one, slice(since, look + 1), since)
    return AlarmFigures(
        window=window,
        since=since,
        evidence=evidence,
        observed=round(float(one.n_failures[here].sum())),
        expected=level * float(one.shocked[here].sum()),
        ratio=ratio[0],
        low=ratio[1],
        high=ratio[2],
    )


def _evidence(one: OneStratum, look: int, restart: int) -> tuple[float, int]:
    if not one.n_failures[look]:
        return 0.0, WINDOWS[-1]
    sums = running_sums(
        one.n_failures[:, None],
        one.shocked[:, None],
        one.spread[:, None],
        np.array([one.prior]),
        np.array([one.drift]),
    )
    evidence, window = evidence_at(
        sums, np.array([look]), np.array([0]), np.array([restart])
    )
    return float(evidence[0]), int(window[0])


def _start_of_excess(one: OneStratum, look: int, restart: int) -> int:
    """Return the start within the last looks that explains the excess best."""
    best, since = -np.inf, look
    for start in range(max(look + 1 - MEMORY, restart, 0), look + 1):
        alpha, level = one.level_before(start)
        alpha /= 1 + alpha * one.drift * (look + 1 - start) / 2
        n = one.failures[start : look + 1].sum()
        m = level * one.expected[start : look + 1].sum()
        found = float(likelihood_ratio(n, m, np.array(alpha), 1.0, MOST_RISE_SINCE))
        if found > best:
            best, since = found, start
    return since


def _ratio(
    one: OneStratum, looks: slice, since: int, confidence: float = 0.95
) -> tuple[float, float, float]:
    """Return the ratio of some looks to the level before `since`, and its limits."""
    alpha, level = one.level_before(since)
    alpha /= 1 + alpha * one.drift * (looks.stop - since) / 2
    n = float(one.failures[looks].sum())
    m = level * float(one.expected[looks].sum())
    if m <= 0:
        return np.nan, 0.0, np.inf
    if n > 0:
        half = normal_quantile(confidence) * np.sqrt(1 / n + 1 / alpha)
        return n / m, n / m * float(np.exp(-half)), n / m * float(np.exp(half))
    # No logarithm of none: a gamma level, and none of a Poisson count. The limit is
    # that of the ratio of two gammas, an F quantile with 2 and 2 alpha degrees.
    high = float(special.fdtri(2, 2 * alpha, (1 + confidence) / 2)) / m
    return 0.0, 0.0, high


def ratio_after(
    n_failures: ArrayLike,
    n_expected: ArrayLike,
    fit: QuietFleet,
    *,
    stratum: ArrayLike,
    look: ArrayLike,
    since: ArrayLike,
) -> list[RatioAfter]:
    """Return how much more often a stratum failed after its alarm alone.

    The ratio at an alarm tends to read high, as it was chosen for being high; that of
    the looks after it does not.

    Parameters
    ----------
    n_failures, n_expected, fit
        As for `watch`.
    stratum, look, since : array of int, shape (n,)
        Of the alarms, as `Watched` has them.

    Returns
    -------
    list of RatioAfter
        Against the level before `since`; one entry per alarm.
    """
    strata = strata_by_look(n_failures, n_expected, fit, stratum)
    found = []
    for one, at, start in zip(
        strata,
        np.asarray(look, dtype=np.int64),
        np.asarray(since, dtype=np.int64),
        strict=True,
    ):
        after = slice(int(at) + 1, len(one.n_failures))
        _, level = one.level_before(int(start))
        expected = level * float(one.shocked[after].sum())
        n = round(float(one.n_failures[after].sum()))
        found.append(RatioAfter(n, expected, *_ratio(one, after, int(start))))
    return found


def expected_by_look(
    n_failures: ArrayLike,
    n_expected: ArrayLike,
    fit: QuietFleet,
    *,
    stratum: ArrayLike,
    since: ArrayLike,
) -> Floats:
    """Return the failures a stratum would show at its level before an excess.

    Parameters
    ----------
    n_failures, n_expected, fit
        As for `watch`.
    stratum, since : array of int, shape (n,)

    Returns
    -------
    array of float, shape (n, T)
        Not scaled, with the shock of each look.
    """
    strata = strata_by_look(n_failures, n_expected, fit, stratum)
    starts = np.asarray(since, dtype=np.int64)
    by_look = [
        one.level_before(int(start))[1] * one.shocked
        for one, start in zip(strata, starts, strict=True)
    ]
    return np.array(by_look, dtype=np.float64).reshape(len(strata), -1)
