"""What fitted laws say of one fleet, against the law it came from."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.errors import InsufficientDataError
from analytics.statistics.counts import Floats
from analytics.statistics.distributions import fit_life
from tests.truth.curve_methods import AGES, held
from tests.truth.fleets import Fleet
from tests.truth.study import Values

FRACTIONS = (0.01, 0.05, 0.1, 0.5)
WAYS = {"wald": "Wald", "likelihood": "likelihood ratio"}


@dataclass(frozen=True, slots=True)
class LawTruth:
    distribution: str
    parameters: dict[str, float]
    age_of: Floats  # of FRACTIONS
    failed_by: Floats  # at AGES

    @classmethod
    def of(cls, law: Any) -> "LawTruth":
        name = law.dist.name
        if name == "weibull_min":
            known = ("weibull", {"shape": law.args[0], "scale": law.kwds["scale"]})
        elif name == "lognorm":
            mu = float(np.log(law.kwds["scale"]))
            known = ("lognormal", {"mu": mu, "sigma": law.args[0]})
        else:
            known = ("exponential", {"scale": law.kwds["scale"]})
        return cls(*known, age_of=law.ppf(FRACTIONS), failed_by=law.cdf(AGES))

    def names(self) -> list[str]:
        """Return the methods, without the way of the limits."""
        return [
            *(f"{self.distribution} {name}" for name in self.parameters),
            *(f"age of {100 * p:g} % failed" for p in FRACTIONS),
            *(f"failed by {age} days" for age in AGES),
        ]


def law_values(fleet: Fleet, truth: LawTruth) -> Values:
    counts, options = fleet.for_laws()
    names = truth.names()
    try:
        fit = fit_life(*counts, distribution=truth.distribution, **options)
    except InsufficientDataError:
        return {f"{n}, {way}": float("nan") for way in WAYS.values() for n in names}
    values: Values = {}
    for method, way in WAYS.items():
        limits = [fit.parameter_interval(n, method=method) for n in truth.parameters]
        for ask, where in (
            (fit.quantile_interval, FRACTIONS),
            (fit.failed_fraction_interval, AGES),
        ):
            low, high = ask(np.array(where, dtype=float), method=method)
            limits += zip(low, high, strict=True)
        true = [*truth.parameters.values(), *truth.age_of, *truth.failed_by]
        for name, value, (low, high) in zip(names, true, limits, strict=True):
            values[f"{name}, {way}"] = held(low, value, high)
    return values
