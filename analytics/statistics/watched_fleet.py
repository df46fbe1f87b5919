"""A fleet as the watch sees it: exposure and failures by kind of unit, look and age.

A family sorts every failure into one stratum: a group of modes in units of one value
(of model, lot, supplier). What is expected of a stratum comes from the rates of the
whole fleet by mode and age: indirect standardisation.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.counts import Counts, Floats
from analytics.statistics.quiet_fleet import Numbers

Codes = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class WatchedFleet:
    """Units at risk and failures; all codes are whole numbers from 0.

    A kind is all that families tell units apart by. Exposure is the time that units of
    a kind spent at an age in a look, already times the share of failures known by now.
    """

    n_looks: int
    n_kinds: int
    n_modes: int
    n_ages: int
    kind: Codes  # (n,), as look, age and exposure; repeated cells add up
    look: Codes
    age: Codes
    exposure: Floats
    failure_kind: Codes  # (F,), as the others: one entry per failure
    failure_look: Codes
    failure_age: Codes
    failure_mode: Codes


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """A way to sort failures into strata: which modes, in units of which value."""

    name: str
    failure_of_mode: Codes  # (M,)
    value_of_kind: Codes  # (K,)


@dataclass(frozen=True, slots=True, eq=False)
class FamilyCounts:
    """Failures and expected failures of a family's strata, look by look."""

    observed: Counts  # (T, N)
    expected: Floats  # (T, N)
    stratum_failure: Codes  # (N,): which group of modes
    stratum_value: Codes  # (N,): which value
    stratum_of_failure: Codes  # (F,)


@dataclass(frozen=True, slots=True, eq=False)
class FamilyTable:
    """Exposure of a family's values, and where its strata are."""

    exposure: Floats  # (A, T * V)
    failure: Codes  # (M,): the group of a mode
    value: Codes  # (K,)
    n_looks: int
    n_groups: int
    n_values: int
    strata: NDArray[np.intp]  # (N,): place of each stratum in groups x values
    place: NDArray[np.intp]  # groups x values: the stratum there, -1 where none is

    def expected(self, hazard: Numbers) -> Numbers:
        """Return expected failures (T, B, N) from rates by mode and age (B, M, A)."""
        n_draws, _, n_ages = hazard.shape
        grouped = np.zeros((n_draws, self.n_groups, n_ages), dtype=hazard.dtype)
        for mode, group in enumerate(self.failure):
            grouped[:, group] += hazard[:, mode]
        rates = grouped.reshape(-1, n_ages)
        exposure = self.exposure.astype(hazard.dtype, copy=False)
        found = np.empty((self.n_looks, n_draws, len(self.strata)), hazard.dtype)
        for look in range(self.n_looks):
            here = exposure[:, look * self.n_values : (look + 1) * self.n_values]
            found[look] = (rates @ here).reshape(n_draws, -1)[:, self.strata]
        return found

    def stratum(self, mode: Any, kind: NDArray[Any]) -> NDArray[np.intp]:
        """Return the stratum of each failure."""
        place: NDArray[np.intp] = self.failure[mode] * self.n_values + self.value[kind]
        return np.asarray(self.place[place])


def checked_fleet(fleet: WatchedFleet) -> WatchedFleet:
    """Return the fleet; ValueError where its codes and counts do not fit."""
    for name, size in (
        ("kind", fleet.n_kinds),
        ("look", fleet.n_looks),
        ("age", fleet.n_ages),
        ("failure_kind", fleet.n_kinds),
        ("failure_look", fleet.n_looks),
        ("failure_age", fleet.n_ages),
        ("failure_mode", fleet.n_modes),
    ):
        like = fleet.failure_mode if name.startswith("failure") else fleet.exposure
        codes = getattr(fleet, name)
        if codes.shape != like.shape or codes.ndim != 1:
            raise ValueError(f"{name} must have shape {like.shape}, got {codes.shape}")
        if codes.size and not 0 <= codes.min() <= codes.max() < size:
            raise ValueError(f"{name} must be codes from 0 to {size - 1}")
    if not (np.isfinite(fleet.exposure) & (fleet.exposure >= 0)).all():
        raise ValueError("exposure must be finite and not negative")
    at_risk = np.zeros(fleet.n_kinds * fleet.n_looks * fleet.n_ages, dtype=bool)
    some = fleet.exposure > 0
    at_risk[_cell(fleet, fleet.kind[some], fleet.look[some], fleet.age[some])] = True
    failed = _cell(fleet, fleet.failure_kind, fleet.failure_look, fleet.failure_age)
    alone = ~at_risk[failed]
    if alone.any():
        raise ValueError(
            f"{alone.sum()} failures lie in a kind, look and age without exposure"
        )
    return fleet


def _cell(fleet: WatchedFleet, kind: Codes, look: Codes, age: Codes) -> Codes:
    return (kind * fleet.n_looks + look) * fleet.n_ages + age


def hazard_of(
    fleet: WatchedFleet,
    mode: NDArray[Any],
    age: NDArray[Any],
    replicate: NDArray[Any],
    n_draws: int,
) -> Numbers:
    """Return failures over exposure by mode and age (B, M, A), 0 without exposure."""
    exposure = np.bincount(fleet.age, fleet.exposure, fleet.n_ages)
    cells = (replicate * fleet.n_modes + mode) * fleet.n_ages + age
    n = np.bincount(cells, minlength=n_draws * fleet.n_modes * fleet.n_ages)
    shaped = n.reshape(n_draws, fleet.n_modes, fleet.n_ages)
    return np.asarray(shaped / np.where(exposure > 0, exposure, np.inf))


def fleet_hazard(fleet: WatchedFleet) -> Numbers:
    """Return the rates of the whole fleet by mode and age, shape (1, M, A)."""
    one = np.zeros_like(fleet.failure_mode)
    return hazard_of(fleet, fleet.failure_mode, fleet.failure_age, one, 1)


def family_table(fleet: WatchedFleet, family: Family) -> FamilyTable:
    """Return exposures of a family, and the strata in which failures are expected."""
    failure, value = family.failure_of_mode, family.value_of_kind
    for name, codes, size in (
        ("failure_of_mode", failure, fleet.n_modes),
        ("value_of_kind", value, fleet.n_kinds),
    ):
        if codes.shape != (size,) or (codes.size and codes.min() < 0):
            raise ValueError(f"{name} of {family.name} must be {size} codes from 0")
    n_groups = int(failure.max(initial=-1)) + 1
    n_values = int(value.max(initial=-1)) + 1
    cells = (fleet.age * fleet.n_looks + fleet.look) * n_values + value[fleet.kind]
    exposure = np.bincount(
        cells, fleet.exposure, fleet.n_ages * fleet.n_looks * n_values
    ).astype(np.float64)
    everywhere = np.arange(n_groups * n_values)
    table = FamilyTable(
        exposure=exposure.reshape(fleet.n_ages, fleet.n_looks * n_values),
        failure=failure,
        value=value,
        n_looks=fleet.n_looks,
        n_groups=n_groups,
        n_values=n_values,
        strata=everywhere,
        place=everywhere,
    )
    expected = table.expected(fleet_hazard(fleet))
    strata = np.flatnonzero(expected.sum(axis=(0, 1)) > 0)
    place = np.full(len(everywhere), -1, dtype=np.intp)
    place[strata] = np.arange(len(strata))
    return replace(table, strata=strata, place=place)


def expected_and_observed(fleet: WatchedFleet, family: Family) -> FamilyCounts:
    """Count a family's failures, and what the rates of the whole fleet let expect.

    Parameters
    ----------
    fleet : WatchedFleet
    family : Family

    Returns
    -------
    FamilyCounts
        Expected failures add up to the observed ones. Strata in which none is expected
        are left out.

    Raises
    ------
    ValueError
        Codes that do not fit, failures without exposure.

    Notes
    -----
    Rates by mode and age from the same data: indirect standardisation.
    """
    checked_fleet(fleet)
    return counts_of(fleet, family_table(fleet, family))


def counts_of(fleet: WatchedFleet, table: FamilyTable) -> FamilyCounts:
    """Count failures and expected ones in the strata of a table."""
    stratum = table.stratum(fleet.failure_mode, fleet.failure_kind)
    n_strata = len(table.strata)
    cells = fleet.failure_look * n_strata + stratum
    observed = np.bincount(cells, minlength=fleet.n_looks * n_strata)
    return FamilyCounts(
        observed=observed.reshape(fleet.n_looks, n_strata),
        expected=np.asarray(
            table.expected(fleet_hazard(fleet))[:, 0], dtype=np.float64
        ),
        stratum_failure=table.strata // max(table.n_values, 1),
        stratum_value=table.strata % max(table.n_values, 1),
        stratum_of_failure=stratum,
    )
