"""The invented fleet as the watch counts it by month, and what was planted in it.

Read from the generator's arrays, not from its files: nothing is left blank, no row is
wrong. A unit is at risk from its registration (its first day in service, where that is
later) to its first failure or its retirement.
"""

import datetime as dt
import itertools
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from scipy import stats

from analytics.statistics.counts import Floats
from analytics.statistics.watch_families import Family, WatchedFleet
from ingest.catalogue import failure_modes
from synthetic_data import scenario
from synthetic_data.fleet import Fleet, draw_fleet
from synthetic_data.lives import hazard_ratios
from synthetic_data.register import bad_cable

FIRST_MONTH = np.datetime64("2021-07", "M")
N_MONTHS = 60
N_UNITS = 20_000
MONTH_DAYS = 365.25 / 12
AGE_STARTS = np.array([0, 1, 3, 6, 12, 24, 36, 48])  # months in service
# Fields of a unit, as a family or an explanation uses them.
FIELDS = ("model", "cable supplier", "lot", "hardware revision", "region")
SUPPLIER = FIELDS.index("cable supplier")
DELAY = stats.beta(*scenario.DELAY_BETA, scale=scenario.DELAY_DAYS)


@dataclass(frozen=True, slots=True)
class PlantedFleet:
    """`whole` holds all failures there ever were; `at` gives what a publish knows."""

    whole: WatchedFleet
    confirmed: Any  # (F,) day number
    is_planted: Any  # (F,) a unit with the bad cable, by the planted mode
    field_of_kind: Any  # (fields, K): value of each field, from 0
    excess: Floats  # (T,) expected failures added since the first month, by the law

    def at(self, look: int) -> tuple[WatchedFleet, Any]:
        """Return the fleet as known at the end of a month, and which failures are."""
        whole = self.whole
        as_of = last_day(look)
        is_known = (whole.failure_look <= look) & (self.confirmed <= as_of)
        rows = whole.look <= look
        complete = completeness(look)
        return (
            replace(
                whole,
                n_looks=look + 1,
                kind=whole.kind[rows],
                look=whole.look[rows],
                age=whole.age[rows],
                exposure=(whole.exposure[rows] * complete[whole.look[rows]]),
                failure_kind=whole.failure_kind[is_known],
                failure_look=whole.failure_look[is_known],
                failure_age=whole.failure_age[is_known],
                failure_mode=whole.failure_mode[is_known],
            ),
            np.flatnonzero(is_known),
        )

    def families(self, *, by_revision: bool = True) -> list[Family]:
        """Return the families watched, a supplier's part by revision among them."""
        laws = [law.mode for law in scenario.mode_laws() if law.is_failure]
        catalogue = failure_modes()
        mode = np.arange(len(laws))
        component = _numbered([catalogue[name].component for name in laws])
        group = _numbered([catalogue[name].watch_group for name in laws])
        model, supplier, lot, revision, region = self.field_of_kind
        families = [
            Family("component", component, np.zeros_like(model)),
            Family("watch group x model", group, model),
            Family("mode x cable supplier", mode, supplier),
            Family("watch group x lot", group, lot),
            Family("mode x hardware revision", mode, revision),
            Family("watch group x region", group, region),
        ]
        if by_revision:
            value = supplier * (int(revision.max()) + 1) + revision
            families.append(Family("mode x cable supplier x revision", mode, value))
        return families


def last_day(look: int) -> int:
    day = (FIRST_MONTH + look + 1).astype("datetime64[D]").astype(dt.date)
    return int(day.toordinal()) - 1


def completeness(look: int) -> Floats:
    """Return the share of each month's failures confirmed by the end of a month."""
    ages = np.arange(int(scenario.DELAY_DAYS) + 1)
    confirmed = np.append(DELAY.cdf(ages + 0.5), np.ones(10_000))
    ends = np.array([last_day(month) for month in range(-1, look + 1)])
    return np.array(
        [
            confirmed[ends[-1] - np.arange(first + 1, last + 1)].mean()
            for first, last in itertools.pairwise(ends)
        ]
    )


def draw_planted(seed: int) -> PlantedFleet:
    fleet = draw_fleet(N_UNITS, seed)
    entry, end, first = _at_risk(fleet)
    kind, field_of_kind = _kinds(fleet, np.random.default_rng([seed, 1]))
    events = fleet.events.take(first)
    rows, months, days = _unit_months(entry, end)
    in_service = _look_of(fleet.register.in_service)
    age = _age(months - in_service[rows])
    counted = _added_up(kind[rows], months, age, days / MONTH_DAYS)
    failure_look = _look_of(events.failed)
    planted_mode = [law.mode for law in scenario.mode_laws()].index(scenario.BAD_MODE)
    is_bad = bad_cable(fleet.register)
    whole = WatchedFleet(
        N_MONTHS,
        field_of_kind.shape[1],
        sum(law.is_failure for law in scenario.mode_laws()),
        len(AGE_STARTS),
        *counted,
        kind[events.unit],
        failure_look,
        _age(failure_look - in_service[events.unit]),
        events.mode,
    )
    return PlantedFleet(
        whole,
        events.confirmed,
        (events.mode == planted_mode) & is_bad[events.unit],
        field_of_kind,
        _excess(fleet, entry, end, planted_mode),
    )


def _at_risk(fleet: Fleet) -> tuple[Any, Any, Any]:
    """Return first and last day at risk of each unit, and rows of first failures."""
    register, events = fleet.register, fleet.events
    n_modes = sum(law.is_failure for law in scenario.mode_laws())
    rows = np.flatnonzero(events.mode < n_modes)
    rows = rows[np.argsort(events.failed[rows], kind="stable")]
    _, earliest = np.unique(events.unit[rows], return_index=True)
    first = rows[earliest]
    entry = np.maximum(register.in_service, register.registered)
    end = np.minimum(fleet.retired, last_day(N_MONTHS - 1))
    end[events.unit[first]] = events.failed[first]
    return entry, end, first


def _unit_months(entry: Any, end: Any) -> tuple[Any, Any, Any]:
    """Return unit, month and days at risk of each month that a unit was at risk in."""
    first, last = _look_of(entry), _look_of(end)
    n = np.maximum(last - first + 1, 0)
    n[end < entry] = 0
    unit = np.repeat(np.arange(len(n)), n)
    month = np.arange(n.sum()) - np.repeat(np.cumsum(n) - n, n) + first[unit]
    ends = np.array([last_day(look) for look in range(-1, N_MONTHS)])
    days = np.minimum(end[unit], ends[month + 1]) - np.maximum(
        entry[unit] - 1, ends[month]
    )
    return unit, month, days


def _added_up(kind: Any, month: Any, age: Any, exposure: Floats) -> tuple[Any, ...]:
    key = (kind * N_MONTHS + month) * len(AGE_STARTS) + age
    keys, where = np.unique(key, return_inverse=True)
    rest, ages = np.divmod(keys, len(AGE_STARTS))
    kinds, months = np.divmod(rest, N_MONTHS)
    return kinds, months, ages, np.bincount(where, exposure)


def _kinds(fleet: Fleet, rng: np.random.Generator) -> tuple[Any, Any]:
    """Return each unit's kind, and the value of each field for each kind."""
    register = fleet.register
    year = np.array([dt.date.fromordinal(int(day)).year for day in register.made])
    revision = np.searchsorted([2023, 2025], year, side="right")
    region = rng.integers(0, len(scenario.REGIONS), len(register))
    _, lot = np.unique(register.lot, return_inverse=True)
    fields = np.stack([register.model, register.supplier, lot, revision, region])
    values, kind = np.unique(fields, axis=1, return_inverse=True)
    return kind.ravel(), values


def _excess(fleet: Fleet, entry: Any, end: Any, mode: int) -> Floats:
    """Return the failures that the planted ratio adds up to by each month."""
    register, law = fleet.register, scenario.mode_laws()[mode]
    ratio = hazard_ratios(register)[:, mode] * bad_cable(register)
    added = ratio * (1 - 1 / scenario.BAD_HAZARD_RATIO)

    def cumulative(day: Any) -> Floats:
        age = np.maximum(day - register.in_service, 0)
        hazard: Floats = (age / law.scale_days) ** law.shape
        return hazard

    ends = [np.minimum(end, last_day(look)) for look in range(N_MONTHS)]
    start = cumulative(entry)
    return np.array(
        [(added * np.maximum(cumulative(day) - start, 0)).sum() for day in ends]
    )


def _look_of(day: Any) -> Any:
    epoch = dt.date(1970, 1, 1).toordinal()
    months = (np.minimum(day, last_day(N_MONTHS)) - epoch).astype("datetime64[D]")
    return months.astype("datetime64[M]").astype(int) - FIRST_MONTH.astype(int)


def _age(months: Any) -> Any:
    return np.searchsorted(AGE_STARTS, np.maximum(months, 0), side="right") - 1


@cache
def _codes(names: tuple[str, ...]) -> dict[str, int]:
    return {name: number for number, name in enumerate(dict.fromkeys(names))}


def _numbered(names: list[str]) -> Any:
    code = _codes(tuple(names))
    return np.array([code[name] for name in names])
