"""Life distributions fitted to counts by maximum likelihood.

Failures known to the day are densities, failures known to lie in an interval are its
probability, units still working are survival, and units that came into view at an age
are divided by the survival to it. `likelihood` holds the formulas, `fitting` the
search, `life_fit` the result.
"""

import numpy as np
from numpy.typing import ArrayLike

from analytics.errors import InsufficientDataError
from analytics.statistics.assumed_shape import ScaleFit, weibull_assumed_shape
from analytics.statistics.counts import Floats, normal_quantile
from analytics.statistics.fitting import (
    CLOSE_ENOUGH,
    Maximum,
    maximise,
    records_of,
    start_of,
)
from analytics.statistics.life_counts import (
    LifeCounts,
    check_enough,
    checked_life_counts,
)
from analytics.statistics.life_fit import LifeFit
from analytics.statistics.likelihood import Distribution, Records, law_named

__all__ = ["Distribution", "LifeFit", "ScaleFit", "fit_life", "weibull_assumed_shape"]


def fit_life(
    age: ArrayLike,
    n_failed: ArrayLike,
    n_censored: ArrayLike,
    *,
    distribution: Distribution,
    entry_age: ArrayLike | None = None,
    n_entered: ArrayLike | None = None,
    lower: ArrayLike | None = None,
    upper: ArrayLike | None = None,
    n_interval: ArrayLike | None = None,
    confidence: float = 0.95,
) -> LifeFit:
    """Fit a life distribution to counts.

    Parameters
    ----------
    age : array of float, shape (k,)
        Any order and unit; repeated ages add up; may be empty.
    n_failed, n_censored : array of int, shape (k,)
        Units that failed, or were last seen working, at each age.
    distribution : {"weibull", "lognormal", "exponential"}
    entry_age, n_entered : array, shape (j,), optional
        Delayed entry: how many units come into view at which age; those seen from new
        at 0 change nothing. `n_entered` left out: 1 each.
    lower, upper, n_interval : array, shape (i,), optional
        Failures known only to lie in (lower, upper], lower no earlier than where the
        unit came into view. `n_interval` left out: 1 each.
    confidence : float, default 0.95
        Two-sided level of all intervals of the result, between 0 and 1.

    Returns
    -------
    LifeFit

    Raises
    ------
    InsufficientDataError
        Failures at fewer than two distinct ages (exponential: no failure), units that
        all end as they come into view, or a likelihood that rises without end because
        the data do not fix the law.
    ValueError
        A failure at age 0, which has no density: pass it as the interval (0, 1].
        Arrays that do not fit each other, a negative count, an empty interval, more
        entries from an age on than units that end after it, an unknown distribution, a
        confidence that is not between 0 and 1.

    Notes
    -----
    Newton steps on (alpha, rho) with z = rho ln(age) - alpha, analytic gradient and
    Hessian, from the line through the plotted failures; ages are divided by their
    geometric mean first. The covariance is the inverse of the observed information.
    Checked against the fan, bearing and cracking data of tests/published, among them
    test_nelson_fans.py and test_nist_weibull.py.
    """
    law_named(distribution)
    normal_quantile(confidence)
    counts = checked_life_counts(
        (age, n_failed, n_censored), (lower, upper, n_interval), (entry_age, n_entered)
    )
    check_enough(counts, distribution)
    records = records_of(counts)
    best = _best(records, counts, distribution)
    return _stated(records, best, counts, distribution, confidence)


def _best(records: Records, counts: LifeCounts, distribution: str) -> Maximum:
    law = law_named(distribution)
    start = start_of(counts, law, records.log_reference)
    free = np.eye(2)
    if distribution == "exponential":
        # Failures over the total of ages, with rho fixed at 1.
        total = np.exp(records.exact) @ records.n_exact
        total += np.exp(records.right) @ records.n_right
        closed = total > 0 and not counts.n_interval.any()
        scale = total / counts.total_failed if closed else max(float(total), 1.0)
        start, free = np.array([np.log(scale), 1.0]), free[:, :1]
    best = maximise(records, law, start, free)
    bend = -(free.T @ best.hessian @ free)
    is_peak = np.isfinite(best.value) and bool((np.linalg.eigvalsh(bend) > 0).all())
    if not is_peak or best.decrement > CLOSE_ENOUGH:
        n_failed = counts.total_failed
        raise InsufficientDataError(
            f"failures to fix the {distribution} law (its likelihood has no maximum)",
            needed=n_failed + 1,
            found=n_failed,
        )
    return best


def _stated(
    records: Records,
    best: Maximum,
    counts: LifeCounts,
    distribution: Distribution,
    confidence: float,
) -> LifeFit:
    alpha, rho = (float(v) for v in best.point)
    by_centre = np.array([1 / rho, -alpha / rho**2])
    # Each parameter as its logarithm (mu is one already), and how that moves.
    logs = {"scale": alpha / rho + records.log_reference}
    by_working = by_centre[None, :]
    if distribution == "exponential":
        spread = np.diag([-1 / best.hessian[0, 0], 0.0])
    else:
        spread = np.linalg.inv(-best.hessian)
    if distribution == "weibull":
        logs = {"shape": float(np.log(rho))} | logs
        by_working = np.stack([np.array([0.0, 1 / rho]), by_centre])
    elif distribution == "lognormal":
        logs = {"mu": logs["scale"], "sigma": -float(np.log(rho))}
        by_working = np.stack([by_centre, np.array([0.0, -1 / rho])])
    errors = np.sqrt(np.diag(by_working @ spread @ by_working.T))
    values = {name: _natural(name, log) for name, log in logs.items()}
    by_log = np.array([1.0 if name == "mu" else values[name] for name in values])
    with np.errstate(over="ignore", invalid="ignore"):
        by_natural = by_log[:, None] * by_working
        covariance = by_natural @ spread @ by_natural.T
    n_failed = counts.total_failed
    n_units = n_failed + int(counts.n_censored.sum())
    return LifeFit(
        distribution=distribution,
        parameters=values,
        covariance=covariance,
        intervals=_wald(logs, normal_quantile(confidence) * errors),
        confidence=confidence,
        log_likelihood=best.value,
        aicc=_aicc(best.value, len(values), n_units),
        n_failed=n_failed,
        n_units=n_units,
        mean_log_age=counts.mean_log_age,
        _law=law_named(distribution),
        _records=records,
        _best=best,
        _spread=spread,
    )


def _natural(name: str, log: float) -> float:
    # Delayed entry can fit a scale too small for a float: then 0.
    with np.errstate(over="ignore", under="ignore"):
        return log if name == "mu" else float(np.exp(log))


def _wald(logs: dict[str, float], reach: Floats) -> dict[str, tuple[float, float]]:
    return {
        name: (_natural(name, log - far), _natural(name, log + far))
        for (name, log), far in zip(logs.items(), reach.tolist(), strict=True)
    }


def _aicc(log_likelihood: float, n_parameters: int, n_units: int) -> float:
    spare = n_units - n_parameters - 1
    if spare <= 0:
        return float("nan")
    penalty = 2 * n_parameters * (1 + (n_parameters + 1) / spare)
    return penalty - 2 * log_likelihood
