"""What is said of competing modes, groups and few failures, against the truth."""

from dataclasses import replace
from typing import Any

import numpy as np
from scipy import integrate

from analytics.statistics.assumed_shape import weibull_assumed_shape
from analytics.statistics.comparison import log_rank
from analytics.statistics.competing_risks import cumulative_incidence, survival_without
from analytics.statistics.counts import Floats
from analytics.statistics.gray import gray_test
from analytics.statistics.life import kaplan_meier
from analytics.statistics.turnbull import IntervalEstimate, interval_censored
from tests.truth.curve_methods import held
from tests.truth.fleets import Fleet
from tests.truth.study import Values

AGES = (365, 700)
LEVEL = 0.05
SHAPES = (1.0, 3.0)  # the range a user might state


def incidences(laws: list[Any]) -> Floats:
    """Return the fraction failed by each mode at AGES, shape (ages, modes)."""

    def failing(age: float, mode: int) -> float:
        others = (law.sf(age) for i, law in enumerate(laws) if i != mode)
        return float(laws[mode].pdf(age) * np.prod(list(others)))

    modes = range(len(laws))
    by_mode = [
        [integrate.quad(failing, 0, age, args=(mode,))[0] for mode in modes]
        for age in AGES
    ]
    return np.array(by_mode)


def incidence_names(n_modes: int) -> list[str]:
    return [
        f"incidence of mode {mode + 1} by {age} days"
        for age in AGES
        for mode in range(n_modes)
    ]


def incidence_values(fleet: Fleet, truth: Floats) -> Values:
    found = cumulative_incidence(
        fleet.age, fleet.n_failed, fleet.n_censored[:, 0], **fleet.entries()
    )
    rows = np.searchsorted(found.age, AGES, side="right") - 1
    limits = found.low[rows].ravel(), truth.ravel(), found.high[rows].ravel()
    names = incidence_names(truth.shape[1])
    return {name: held(*three) for name, *three in zip(names, *limits, strict=True)}


def without_names() -> list[str]:
    return [f"survival at {age} days without mode 2" for age in AGES]


def without_values(fleet: Fleet, law: Any) -> Values:
    """Return what is said of a life with mode 1 alone; the modes are independent."""
    curve = survival_without(
        fleet.age, fleet.n_failed, fleet.n_censored[:, 0], column=1, **fleet.entries()
    )
    _, low, high = curve.at(AGES)
    limits = zip(low, law.sf(AGES), high, strict=True)
    names = without_names()
    return {name: held(*three) for name, three in zip(names, limits, strict=True)}


def only_mode(fleet: Fleet, mode: int) -> Fleet:
    """Return the fleet with the failures of other modes as censorings."""
    failed = fleet.n_failed[:, [mode]]
    others = fleet.n_failed.sum(axis=1, keepdims=True) - failed
    return replace(fleet, n_failed=failed, n_censored=fleet.n_censored + others)


def log_rank_values(fleets: list[Fleet]) -> Values:
    """Return whether groups that fail alike within each fleet are told apart."""
    age = np.concatenate([fleet.age for fleet in fleets])
    failed = np.concatenate([fleet.n_failed for fleet in fleets])
    censored = np.concatenate([fleet.n_censored for fleet in fleets])
    if len(fleets) == 1:
        found = log_rank(age, failed, censored, **fleets[0].entries())
        return {"log-rank": float(found.p_value < LEVEL)}
    stratum = np.repeat(np.arange(len(fleets)), [len(fleet.age) for fleet in fleets])
    return {
        "log-rank, stratified": float(
            log_rank(age, failed, censored, stratum=stratum).p_value < LEVEL
        ),
        "log-rank, strata ignored": float(
            log_rank(age, failed, censored).p_value < LEVEL
        ),
    }


def gray_values(fleet: Fleet) -> Values:
    """Return whether groups with one incidence of the mode are told apart."""
    n_groups = fleet.n_censored.shape[1]
    failed, other = fleet.n_failed[:, :n_groups], fleet.n_failed[:, n_groups:]
    found = gray_test(fleet.age, failed, other, fleet.n_censored, **fleet.entries())
    return {"Gray": float(found.p_value < LEVEL)}


def assumed_shape_values(fleet: Fleet, law: Any) -> Values:
    counts, entries = fleet.for_curves(), fleet.entries()
    shape, scale = law.args[0], law.kwds["scale"]
    fit = weibull_assumed_shape(*counts, shape=shape, **entries)
    # An age of 1 % failed that holds for every shape of the range.
    ends = [
        weibull_assumed_shape(*counts, shape=s, **entries).quantile_interval(0.01)
        for s in SHAPES
    ]
    low, high = min(end[0] for end in ends), max(end[1] for end in ends)
    return {
        "scale, shape known": held(fit.low, scale, fit.high),
        "age of 1 % failed, shape 1 to 3": held(low, float(law.ppf(0.01)), high),
    }


def visited_errors(fleet: Fleet, law: Any) -> Values:
    """Return errors of the failed fraction: intervals used, and day of the visit."""
    assert fleet.lower is not None
    assert fleet.upper is not None
    none = np.full(len(fleet.age), np.inf)
    n_each = np.concatenate([np.ones(len(fleet.lower)), fleet.n_censored[:, 0]])
    found = interval_censored(
        np.concatenate([fleet.lower, fleet.age]),
        np.concatenate([fleet.upper, none]),
        n_units=n_each,
    )
    ages = np.concatenate([fleet.upper, fleet.age])
    failed = np.concatenate([np.ones(len(fleet.upper)), np.zeros(len(fleet.age))])
    naive = kaplan_meier(ages, failed, n_each - failed)
    values: Values = {}
    for age in AGES:
        true = float(law.cdf(age))
        values[f"error of Turnbull at {age} days"] = failed_by(found, age) - true
        left = float(naive.at(age)[0])
        values[f"error of the day found at {age} days"] = 1 - left - true
    return values


def failed_by(found: IntervalEstimate, age: float) -> float:
    """Return the fraction failed by an age, mass spread evenly over its interval."""
    width = np.maximum(found.upper - found.lower, 1e-9)
    share = np.where(np.isinf(width), 0.0, np.clip((age - found.lower) / width, 0, 1))
    return float(found.mass @ share)
