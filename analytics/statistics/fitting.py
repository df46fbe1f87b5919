"""From counts to records, to a start, to the maximum of the likelihood."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from analytics.statistics.counts import Floats
from analytics.statistics.life_counts import LifeCounts
from analytics.statistics.likelihood import Records, StandardLaw, log_likelihood

MAX_STEPS = 200
# Twice the log-likelihood still to gain by the Newton step: 1e-18 puts the estimate
# within 1e-9 standard errors; interval terms of narrow intervals round at about 1e-12.
CLOSE = 1e-18
CLOSE_ENOUGH = 1e-11
QUADRATIC = 1e-6  # below, rounding hides the gain: the step is taken unasked
SMALLEST_STEP = 1e-12
FLATTEST = 1e-100  # a curvature to divide by: no step too long for a number
# Where nearly all fail at one age the line is so steep that the last units are all but
# impossible; z at the start is at most this, as steepness grows faster than it falls.
HIGHEST_START = 5.0
# Narrower than this (relative to age) an interval is its middle with a density: the
# difference of two nearly equal survivals would lose more digits than that changes.
NARROW = 1e-5

Evaluation = tuple[float, Floats, Floats]


class Maximum(NamedTuple):
    """Where a search ended; `decrement` is twice what one more step would gain."""

    point: Floats
    value: float
    gradient: Floats
    hessian: Floats
    decrement: float


def records_of(counts: LifeCounts) -> Records:
    """Return the records, in logarithms over the geometric mean failure age."""
    reference = counts.mean_log_age
    some = counts.n_interval > 0
    lower, upper = counts.lower[some], counts.upper[some]
    n_interval = counts.n_interval[some].astype(np.float64)
    width = np.full(len(lower), np.inf)
    known = lower > 0
    width[known] = np.log1p((upper[known] - lower[known]) / lower[known])
    narrow, wide = width < NARROW, known & (width >= NARROW)
    middle = np.log(lower[narrow]) + width[narrow] / 2
    failed = counts.n_failed > 0
    exact = np.concatenate([np.log(counts.age[failed]), middle])
    n_exact = np.concatenate([counts.n_failed[failed], n_interval[narrow]])
    # Working at age 0, or seen from age 0 on, has probability 1.
    censored = (counts.n_censored > 0) & (counts.age > 0)
    late = (counts.n_entered > 0) & (counts.entry_age > 0)
    right = np.concatenate([counts.age[censored], counts.entry_age[late]])
    n_right = np.concatenate([counts.n_censored[censored], -counts.n_entered[late]])
    # ln f(age) = ln f(z) + ln rho - ln age; a narrow interval has f(age) x its width.
    constant = -float(n_exact @ exact) + float(
        n_interval[narrow] @ np.log(upper[narrow] - lower[narrow])
    )
    return Records(
        exact=exact - reference,
        n_exact=n_exact.astype(np.float64),
        right=np.log(right) - reference,
        n_right=n_right.astype(np.float64),
        left=np.log(upper[~known]) - reference,
        n_left=n_interval[~known],
        low=np.log(lower[wide]) - reference,
        width=width[wide],
        n_between=n_interval[wide],
        constant=constant,
        log_reference=reference,
    )


def start_of(counts: LifeCounts, law: StandardLaw, log_reference: float) -> Floats:
    """Return (alpha, rho) of the line through the plotted failures.

    Plotted at the middle of each step of the Kaplan-Meier curve, intervals at their
    middle, weighted by failures.
    """
    age = np.concatenate([counts.age, (counts.lower + counts.upper) / 2])
    none = np.zeros(len(counts.lower), dtype=np.int64)
    failed = np.concatenate([counts.n_failed, counts.n_interval])
    left = failed + np.concatenate([counts.n_censored, none])
    order = np.argsort(age, kind="stable")
    age, failed, left = age[order], failed[order], left[order]
    at_risk = left.sum() - (np.cumsum(left) - left)
    late = np.argsort(counts.entry_age, kind="stable")
    entered = np.concatenate([[0], np.cumsum(counts.n_entered[late])])
    before = np.searchsorted(counts.entry_age[late], age, side="left")
    at_risk = at_risk - (entered[-1] - entered[before])
    # An interval's middle may lie before its unit came into view: the plot bends a
    # little there, and stays a start.
    survival = np.cumprod(1 - failed / np.maximum(np.maximum(at_risk, failed), 1))
    middle = 1 - (np.concatenate([[1.0], survival[:-1]]) + survival) / 2
    shown = failed > 0
    y = np.log(age[shown]) - log_reference
    z = law.quantile(np.clip(middle[shown], 1e-12, 1 - 1e-12))
    n = failed[shown]
    centre_y, centre_z = np.average(y, weights=n), np.average(z, weights=n)
    slope_down = float(n @ ((y - centre_y) * (z - centre_z)))
    rise = float(n @ (z - centre_z) ** 2)
    rho = rise / slope_down if slope_down > 0 and rise > 0 else 1.0
    beyond = float(np.log(age[left > 0][-1])) - log_reference - centre_y
    if beyond > 0:
        rho = min(rho, max(HIGHEST_START - centre_z, 1.0) / beyond)
    return np.array([rho * centre_y - centre_z, rho])


def maximise(
    records: Records,
    law: StandardLaw,
    start: Floats,
    directions: Floats,
    *,
    close: float = CLOSE,
) -> Maximum:
    """Return the largest log-likelihood on a line or plane through `start`.

    Parameters
    ----------
    records : Records
    law : StandardLaw
    start : array of float, shape (2,)
        (alpha, rho), rho above 0.
    directions : array of float, shape (2, m)
        The free directions: both parameters, one, or a constraint's line.
    close : float
        Twice the log-likelihood that may be left to gain.

    Returns
    -------
    Maximum
        Newton steps with halving; the caller judges `decrement`.
    """

    def evaluate(point: Floats) -> Evaluation:
        return _evaluation(records, law, point)

    point = start
    now = evaluate(point)
    decrement = np.inf
    for _ in range(MAX_STEPS):
        if not is_finite(*now):
            break
        step, decrement = _newton_step(now, directions)
        if decrement <= close:
            break
        moved = _moved(evaluate, point, now, step, decrement)
        if moved is None:
            break
        point, now = moved
    return Maximum(point, *now, decrement)


def evaluated(records: Records, law: StandardLaw, point: Floats) -> Maximum:
    """Return the log-likelihood at a point, as a search that has not begun."""
    return Maximum(point, *_evaluation(records, law, point), np.inf)


def _evaluation(records: Records, law: StandardLaw, point: Floats) -> Evaluation:
    # A step too far may overflow; it is then halved, not reported.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        return log_likelihood(records, law, point)


def is_finite(value: float, gradient: Floats, hessian: Floats) -> bool:
    """Return whether a log-likelihood and its derivatives are numbers."""
    return bool(
        np.isfinite(value)
        and np.isfinite(gradient).all()
        and np.isfinite(hessian).all()
    )


def _newton_step(now: Evaluation, directions: Floats) -> tuple[Floats, float]:
    slope = directions.T @ now[1]
    bend = -(directions.T @ now[2] @ directions)
    if len(slope) == 1:
        inner = slope / max(abs(float(bend[0, 0])), FLATTEST)
        return directions @ inner, float(slope @ inner)
    # Delayed entry can bend the surface the wrong way: the step then goes uphill along
    # each axis of curvature.
    scale = np.sqrt(np.maximum(np.abs(np.diag(bend)), FLATTEST))
    values, axes = np.linalg.eigh(bend / np.outer(scale, scale))
    along = axes.T @ (slope / scale) / np.maximum(np.abs(values), 1e-14)
    inner = axes @ along / scale
    return directions @ inner, float(slope @ inner)


def _moved(
    evaluate: Callable[[Floats], Evaluation],
    point: Floats,
    now: Evaluation,
    step: Floats,
    decrement: float,
) -> tuple[Floats, Evaluation] | None:
    size = 1.0
    while size > SMALLEST_STEP:
        candidate = point + size * step
        if candidate[1] > 0:
            there = evaluate(candidate)
            gains = there[0] > now[0] or decrement < QUADRATIC
            if is_finite(*there) and gains:
                return candidate, there
        size /= 2
    return None
