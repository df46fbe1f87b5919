"""What fitted laws say of one fleet, against the law it came from."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.errors import InsufficientDataError
from analytics.statistics.distributions import LifeFit, fit_life
from tests.truth.curve_methods import AGES, held
from tests.truth.fleets import Fleet
from tests.truth.study import Values

FRACTIONS = (0.01, 0.05, 0.1, 0.5)
NOBODY = 0.01  # survival at which nothing is asked any more
WAYS = {"wald": "Wald", "likelihood": "likelihood ratio"}


@dataclass(frozen=True, slots=True)
class Quantity:
    """Something a fit gives limits of."""

    name: str
    true: float
    limits: Callable[[LifeFit, Any], tuple[Any, Any]]  # (fit, method)
    is_main: bool = False


@dataclass(frozen=True, slots=True)
class LawTruth:
    """A law and what is asked of its fit."""

    distribution: str
    quantities: list[Quantity]
    main_only: Sequence[str]  # ways of limits by which only the main things are asked

    @classmethod
    def of(cls, law: Any, *, main_only: Sequence[str] = ()) -> "LawTruth":
        distribution, parameters = known(law)
        asked = [
            Quantity(f"{distribution} {name}", true, parameter(name), i == 0)
            for i, (name, true) in enumerate(parameters.items())
        ]
        asked += [
            Quantity(f"age of {100 * p:g} % failed", law.ppf(p), age_of(p), p == 0.1)
            for p in FRACTIONS
        ]
        asked += [
            Quantity(f"failed by {a} days", law.cdf(a), failed_by(a), a == 365)
            for a in AGES
            if law.sf(a) > NOBODY
        ]
        return cls(distribution, asked, main_only)

    def asked(self, method: str) -> list[Quantity]:
        is_all = method not in self.main_only
        return [q for q in self.quantities if is_all or q.is_main]

    def names(self, method: str) -> list[str]:
        return [f"{q.name}, {WAYS[method]}" for q in self.asked(method)]


def known(law: Any) -> tuple[str, dict[str, float]]:
    """Return our name of a law of scipy.stats, and its parameters."""
    scale = law.kwds["scale"]
    if law.dist.name == "weibull_min":
        return "weibull", {"shape": law.args[0], "scale": scale}
    if law.dist.name == "lognorm":
        return "lognormal", {"mu": float(np.log(scale)), "sigma": law.args[0]}
    return "exponential", {"scale": scale}


def parameter(name: str) -> Callable[[LifeFit, Any], tuple[Any, Any]]:
    return lambda fit, method: fit.parameter_interval(name, method=method)


def age_of(fraction: float) -> Callable[[LifeFit, Any], tuple[Any, Any]]:
    return lambda fit, method: fit.quantile_interval(fraction, method=method)


def failed_by(age: float) -> Callable[[LifeFit, Any], tuple[Any, Any]]:
    return lambda fit, method: fit.failed_fraction_interval(age, method=method)


def law_values(fleet: Fleet, truth: LawTruth) -> Values:
    counts, options = fleet.for_laws()
    names = [name for method in WAYS for name in truth.names(method)]
    try:
        fit = fit_life(*counts, distribution=truth.distribution, **options)
    except InsufficientDataError:
        return dict.fromkeys(names, np.nan)
    found = []
    for method in WAYS:
        for quantity in truth.asked(method):
            low, high = quantity.limits(fit, method)
            found.append(held(low, quantity.true, high))
    return dict(zip(names, found, strict=True))
