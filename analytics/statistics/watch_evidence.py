"""Strata that fail more often than before: alarms, restarts, silence.

For the last 3, 6 and 12 looks the failures are compared with what the stratum's own
earlier looks, shrunk towards its siblings, let expect: a gamma-Poisson likelihood ratio
of a rate risen by a factor of 1.5 to 3. An alarm restarts the windows of its stratum,
which is then silent for 12 looks.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.statistics.counts import Bools, Counts, Floats
from analytics.statistics.quiet_fleet import Numbers, QuietFleet, checked_looks
from analytics.statistics.quiet_scaling import look_totals, shocked_looks
from analytics.statistics.watch_figures import figures_of_alarm, strata_by_look
from analytics.statistics.watch_windows import (
    SILENCE,
    RunningSums,
    all_evidence,
    evidence_at,
    running_sums,
)

CHUNK = 1024  # strata at a time: their running sums stay in the processor's cache


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """Alarms in order of look, then evidence (strongest first); one entry each."""

    look: Counts
    stratum: Counts
    window: Counts  # 3, 6 or 12 looks: the one with the most evidence
    since: Counts  # the look at which the excess most likely began
    evidence: Floats  # 0 where a known alarm shows none today
    threshold: Floats  # of that look, as given
    observed: Counts  # failures in the window, cut where windows had restarted
    expected: Floats  # of this stratum at its earlier level, over the same looks
    ratio: Floats  # from `since` to the alarm, with its 95 % limits
    low: Floats
    high: Floats
    is_known: Bools
    best_evidence: NDArray[np.float32] | None = None  # (T, N): nan without a failure


class _Alarm(NamedTuple):
    look: int
    stratum: int
    restart: int  # the look after the alarm before, 0 without one
    is_known: bool


def watch(
    n_failures: ArrayLike,
    n_expected: ArrayLike,
    fit: QuietFleet,
    threshold: ArrayLike,
    *,
    first_live: int = 0,
    live_from: int = 0,
    known: Iterable[tuple[int, int]] = (),
    keep_evidence: bool = False,
) -> Watched:
    """Find the strata that fail more often than before.

    Parameters
    ----------
    n_failures, n_expected : array, shape (T, N)
        Failures, and failures expected, by look and stratum.
    fit : QuietFleet
        How failures scatter while nothing recurs.
    threshold : float or array of float, shape (T,)
        Evidence that raises an alarm; nan or inf: none is raised in that look.
    first_live : int, default 0
        The look at which the watch of this fleet began; none is raised before it.
    live_from : int, default 0
        Looks before it raise no alarm of their own any more; `known` ones stand.
    known : pairs of (look, stratum)
        Alarms raised before: each restarts and silences its stratum again.
    keep_evidence : bool, default False
        Whether to return the evidence of every look and stratum.

    Returns
    -------
    Watched

    Raises
    ------
    ValueError
        Shapes that do not fit each other, a negative number, a known alarm outside the
        looks and strata.

    Notes
    -----
    Only a look with a failure can raise an alarm, with at least two in the window. A
    stratum with a short past is compared with its siblings more than with itself.
    """
    y, e, is_batched = checked_looks(n_failures, n_expected)
    if is_batched:
        raise ValueError("n_failures must be looks by strata, without replicates")
    y, e = y[:, 0], e[:, 0]
    n_looks, n_strata = y.shape
    if fit.level.shape != (n_strata,) or fit.shock.shape != (n_looks,):
        raise ValueError(
            f"the fit is of {fit.shock.shape} looks and {fit.level.shape} strata, "
            f"the counts are of {y.shape}"
        )
    given = _limits(threshold, n_looks)
    limits = np.where(np.isnan(given), np.inf, given)
    limits[: max(first_live, live_from, 0)] = np.inf
    marks = _marks(known, n_looks, n_strata)
    kept = np.full(y.shape, np.nan, dtype=np.float32) if keep_evidence else None
    strata, sums = _suspects(y, e, fit, limits, marks, kept)
    alarms = _alarms(strata, sums, limits, marks, kept)
    return _with_figures((y, e, fit), alarms, given, kept)


def _limits(threshold: ArrayLike, n_looks: int) -> Floats:
    limits = np.asarray(threshold, dtype=np.float64)
    if limits.ndim == 0:
        limits = np.full(n_looks, float(limits))
    if limits.shape != (n_looks,):
        raise ValueError(f"threshold must have {n_looks} looks, got {limits.shape}")
    if (limits <= 0).any():
        raise ValueError(f"threshold must be above 0, got {np.nanmin(limits)}")
    return limits


def _marks(
    known: Iterable[tuple[int, int]], n_looks: int, n_strata: int
) -> NDArray[np.int64]:
    """Return known alarms as rows (look, stratum)."""
    marks = np.array(sorted(set(known)), dtype=np.int64).reshape(-1, 2)
    if (marks < 0).any() or (marks >= (n_looks, n_strata)).any():
        raise ValueError("a known alarm lies outside the looks and strata")
    return marks


def _suspects(
    y: Numbers,
    e: Numbers,
    fit: QuietFleet,
    limits: Floats,
    marks: NDArray[np.int64],
    kept: NDArray[np.float32] | None,
) -> tuple[NDArray[np.intp], RunningSums]:
    """Return the strata that may have an alarm, and their running sums.

    Up to its first alarm the evidence of a stratum is the one without any.
    """
    totals = look_totals(y, e, fit)
    prior = np.full(y.shape[1], 1 / float(fit.level_variance))
    drift = np.full(y.shape[1], float(fit.level_drift))
    strata, parts = [], []
    for start in range(0, max(y.shape[1], 1), CHUNK):
        part = slice(start, start + CHUNK)
        m, spread = shocked_looks(y[:, part], e[:, part], fit, totals, part)
        sums = running_sums(y[:, part], m, spread, prior[part], drift[part])
        look, column, evidence = all_evidence(sums)
        if kept is not None:
            kept[:, part] = np.where(y[:, part] > 0, 0, np.nan)
            kept[look, column + start] = evidence
        ours = marks[(marks[:, 1] >= start) & (marks[:, 1] < part.stop), 1] - start
        some = np.union1d(column[evidence >= limits[look]], ours).astype(np.intp)
        strata.append(some + start)
        parts.append(sums.columns(some))
    joined = RunningSums(
        failures=np.concatenate([one.failures for one in parts], axis=1),
        expected=np.concatenate([one.expected for one in parts], axis=1),
        n_here=np.concatenate([one.n_here for one in parts], axis=1),
        alpha=np.concatenate([one.alpha for one in parts], axis=1),
        beta=np.concatenate([one.beta for one in parts], axis=1),
        drift=np.concatenate([one.drift for one in parts]),
    )
    return np.concatenate(strata), joined


def _alarms(
    strata: NDArray[np.intp],
    sums: RunningSums,
    limits: Floats,
    marks: NDArray[np.int64],
    kept: NDArray[np.float32] | None,
) -> list[_Alarm]:
    """Go through the looks as the watch did: alarm, restart, silence."""
    restart = np.zeros(len(strata), dtype=np.intp)
    silent_to = np.full(len(strata), -1)
    alarms = []
    for look in range(len(limits)):
        columns = np.flatnonzero(sums.n_here[look])
        evidence, _ = evidence_at(
            sums, np.full_like(columns, look), columns, restart[columns]
        )
        if kept is not None:
            kept[look, strata[columns]] = evidence
        raised = columns[(evidence >= limits[look]) & (look > silent_to[columns])]
        known = np.searchsorted(strata, marks[marks[:, 0] == look, 1])
        for column in np.union1d(raised, known).astype(np.intp):
            alarms.append(
                _Alarm(look, int(strata[column]), int(restart[column]), column in known)
            )
            restart[column], silent_to[column] = look + 1, look + SILENCE
    return alarms


def _with_figures(
    counts: tuple[Numbers, Numbers, QuietFleet],
    alarms: list[_Alarm],
    limits: Floats,
    kept: NDArray[np.float32] | None,
) -> Watched:
    by_stratum = strata_by_look(*counts, [one.stratum for one in alarms])
    figures = [
        figures_of_alarm(stratum, one.look, one.restart)
        for one, stratum in zip(alarms, by_stratum, strict=True)
    ]
    order = sorted(
        range(len(alarms)),
        key=lambda i: (alarms[i].look, -figures[i].evidence, alarms[i].stratum),
    )
    looks = np.array([alarms[i].look for i in order], dtype=np.int64)

    def floats(name: str) -> Floats:
        return np.array([getattr(figures[i], name) for i in order], dtype=np.float64)

    def whole(name: str) -> Counts:
        return np.array([getattr(figures[i], name) for i in order], dtype=np.int64)

    return Watched(
        look=looks,
        stratum=np.array([alarms[i].stratum for i in order], dtype=np.int64),
        window=whole("window"),
        since=whole("since"),
        evidence=floats("evidence"),
        threshold=limits[looks],
        observed=whole("observed"),
        expected=floats("expected"),
        ratio=floats("ratio"),
        low=floats("low"),
        high=floats("high"),
        is_known=np.array([alarms[i].is_known for i in order], dtype=np.bool_),
        best_evidence=kept,
    )
