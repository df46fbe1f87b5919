"""False alarms where several overlapping families are watched at once.

Sixty looks; forty lots of six models enter over time, a quarter of them at the first
look; cables of four suppliers, ten regions, thirty modes of eight components and five
groups. 65 to 185 failures a month on average. Five families: component, group and
model, mode and supplier, group and lot, mode and region: 658 strata. Expected numbers
are always those that the fleet itself shows, by mode and age.

An alarm is counted once for all families that show the same cases (`join_alarms`).
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.statistics.alarm_groups import join_alarms
from analytics.statistics.counts import Floats
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_families import (
    Family,
    WatchedFleet,
    calibrate_families,
)
from tests.truth.study import Outcome, Scene
from tests.truth.watch_fleets import YEAR, gamma_of_mean_one
from tests.truth.watch_rates import AS_STATED, RATIO

N_LOOKS, N_LOTS, N_MODELS, N_SUPPLIERS, N_REGIONS = 60, 40, 6, 4, 10
N_MODES, N_COMPONENTS, N_GROUPS = 30, 8, 5
AGE_STARTS = np.array([0, 3, 6, 12, 24, 36])  # looks in service
PER_YEAR, N_DRAWS = 2.0, 50
FEWEST, MOST = 65, 185  # failures a month, mean over a fleet's life
N_FLEETS = 60


@dataclass(frozen=True, slots=True)
class OverlapPlan:
    level_cv: float = 0.0  # of a mode in a lot, and of a mode with a supplier
    dispersion: float = 1.0
    shock_cv: float = 0.0
    n_draws: int = N_DRAWS


def families() -> list[Family]:
    mode, kind = np.arange(N_MODES), np.arange(N_LOTS * N_SUPPLIERS * N_REGIONS)
    lot, rest = divmod(kind, N_SUPPLIERS * N_REGIONS)
    supplier, region = divmod(rest, N_REGIONS)
    group, component = mode % N_GROUPS, mode % N_COMPONENTS
    return [
        Family("component", component, np.zeros_like(kind)),
        Family("group x model", group, lot % N_MODELS),
        Family("mode x supplier", mode, supplier),
        Family("group x lot", group, lot),
        Family("mode x region", mode, region),
    ]


def draw_overlapping(plan: OverlapPlan, rng: np.random.Generator) -> WatchedFleet:
    kind, look, age, exposure = _exposed(rng)
    lot, supplier = kind // (N_SUPPLIERS * N_REGIONS), kind // N_REGIONS % N_SUPPLIERS
    mean = exposure[:, None] * _hazards(rng)[:, age].T  # (n, modes)
    mean *= gamma_of_mean_one(plan.level_cv**2, (N_LOTS, N_MODES), rng)[lot]
    mean *= gamma_of_mean_one(plan.level_cv**2, (N_SUPPLIERS, N_MODES), rng)[supplier]
    mean *= rng.uniform(FEWEST, MOST) * N_LOOKS / mean.sum()
    mean *= gamma_of_mean_one(plan.shock_cv**2, N_LOOKS, rng)[look][:, None]
    row, mode = draw_failures(mean, plan.dispersion, rng)
    return WatchedFleet(
        n_looks=N_LOOKS,
        n_kinds=N_LOTS * N_SUPPLIERS * N_REGIONS,
        n_modes=N_MODES,
        n_ages=len(AGE_STARTS),
        kind=kind,
        look=look,
        age=age,
        exposure=exposure,
        failure_kind=kind[row],
        failure_look=look[row],
        failure_age=age[row],
        failure_mode=mode,
    )


def _exposed(rng: np.random.Generator) -> tuple[Any, Any, Any, Floats]:
    """Return the units in service of each kind at each look, a row each."""
    start = rng.integers(0, N_LOOKS - YEAR // 2, N_LOTS)
    start[: N_LOTS // 4] = 0
    n_in_lot = np.rint(1000 * rng.gamma(4, 1 / 4, N_LOTS) + 50)
    share = np.outer(rng.dirichlet(5 * np.ones(N_SUPPLIERS)), np.ones(N_REGIONS))
    share /= share.sum()
    units = np.stack([rng.multinomial(n, share.ravel()) for n in n_in_lot]).ravel()
    kind, look = np.meshgrid(np.arange(len(units)), np.arange(N_LOOKS), indexing="ij")
    months = look - start[kind // (N_SUPPLIERS * N_REGIONS)]
    is_there = (months >= 0) & (units[kind] > 0)
    age = np.searchsorted(AGE_STARTS, months[is_there], side="right") - 1
    return kind[is_there], look[is_there], age, units[kind[is_there]].astype(float)


def _hazards(rng: np.random.Generator) -> Floats:
    """Return hazards by mode and age: some fall with age, some rise."""
    shape = rng.uniform(0.7, 2.0, N_MODES)[:, None]
    middle = np.append((AGE_STARTS[:-1] + AGE_STARTS[1:]) / 2, 48.0)
    return rng.gamma(1, 1, N_MODES)[:, None] * (middle / 24) ** (shape - 1)


def draw_failures(
    mean: Floats, dispersion: float, rng: np.random.Generator
) -> tuple[Any, Any]:
    """Return row and mode of each failure; clusters stay within a row and a mode.

    Clusters of logarithmic size at Poisson times are the negative binomial law.
    """
    share = 1 - 1 / dispersion
    rate = 1.0 if share == 0 else -np.log1p(-share) / (dispersion - 1)
    until = np.cumsum(mean.ravel())
    n_clusters = rng.poisson(until[-1] * rate)
    cell = np.searchsorted(until, until[-1] * rng.random(n_clusters), side="right")
    cell = np.repeat(cell, rng.logseries(share, n_clusters) if share else 1)
    return divmod(cell, mean.shape[1])


def alarms_of(
    fleet: WatchedFleet, plan: OverlapPlan, rng: np.random.Generator
) -> tuple[list[Any], list[str], list[set[int]]]:
    """Return all alarms of all families, in no order: (look, evidence), family, cases.

    The cases of an alarm are the failures of its stratum in its window.
    """
    watched = families()
    found = calibrate_families(
        fleet, watched, per_year=PER_YEAR, rng=rng, n_draws=plan.n_draws
    )
    when, names, cases = [], [], []
    for family in watched:
        counts = found.counts[family.name]
        seen = watch(
            counts.observed,
            counts.expected,
            found.fits[family.name],
            found.thresholds[family.name],
        )
        last: dict[int, int] = {}
        for look, stratum, window, evidence in zip(
            seen.look, seen.stratum, seen.window, seen.evidence, strict=True
        ):
            first = max(look - window + 1, last.get(stratum, -1) + 1)
            last[stratum] = look
            is_case = (counts.stratum_of_failure == stratum) & (
                (fleet.failure_look >= first) & (fleet.failure_look <= look)
            )
            when.append((int(look), float(evidence)))
            names.append(family.name)
            cases.append(set(np.flatnonzero(is_case).tolist()))
    return when, names, cases


def rates_of(plan: OverlapPlan, rng: np.random.Generator) -> Outcome:
    of_fleet, of_draws = rng.spawn(2)
    fleet = draw_overlapping(plan, of_fleet)
    when, names, cases = alarms_of(fleet, plan, of_draws)
    n_groups = 0
    if when:
        look, evidence = (np.array(part) for part in zip(*when, strict=True))
        n_groups = len(np.unique(join_alarms(look, evidence, cases)))
    years = N_LOOKS / YEAR
    values = {RATIO: n_groups / (PER_YEAR * years)}
    values |= {"the same, not joined": len(when) / (PER_YEAR * years)}
    values |= {
        f"share of {family.name}": names.count(family.name) / max(len(names), 1)
        for family in families()
    }
    return Outcome(len(fleet.failure_look), values)


def scenes() -> list[Scene]:
    plans = {
        "a": OverlapPlan(),
        "e": OverlapPlan(level_cv=0.3, dispersion=1.5, shock_cv=0.2),
    }
    return [
        Scene(
            f"five families, {scenario}",
            "families at once",
            lambda rng, plan=plan: rates_of(plan, rng),
            {RATIO: AS_STATED},
            N_FLEETS,
        )
        for scenario, plan in plans.items()
    ]
