"""The families of groups that the watch looks at, each a partition of all failures."""

import json
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analytics.rollup.watch_input import WatchInput
from analytics.statistics.watch_families import Family
from ingest.catalogue import FailureMode, failure_modes

FEWEST_VALUES = 2  # a dimension with one value tells nothing apart


@dataclass(frozen=True, slots=True)
class Cut:
    """How one family cuts the failures.

    Attributes
    ----------
    name : str
        As alarms keep it.
    failure_kind : {"component", "group", "mode"}
        What failures are put together by.
    dimensions : tuple of str
        Columns of the kinds that tell units apart; none: all units together.
    """

    name: str
    failure_kind: str
    dimensions: tuple[str, ...]

    @property
    def dimension(self) -> str | None:
        """The first of them, by which an alarm is named; None: all units."""
        return self.dimensions[0] if self.dimensions else None

    def values(self, value: str | None) -> tuple[str | None, ...]:
        """Return the value of each dimension, as a value of the family keeps them."""
        if len(self.dimensions) == 1:
            return (value,)
        return tuple(json.loads(value)) if value is not None else ()


# Coarse first: an excess shows where it is well filled, and finer cuts explain it. What
# a supplier sends changes with the revision it is made for: there a new part shows
# undiluted by the older ones (`python -m tests.truth planted`: found in 42 of 50
# fleets, 31 without this family; a revision of that fleet begins with the planted
# part, by accident).
CUTS = (
    Cut("component", "component", ()),
    Cut("model", "group", ("model",)),
    Cut("cable_supplier", "mode", ("cable_supplier",)),
    Cut("supplier_revision", "mode", ("cable_supplier", "hardware_revision")),
    Cut("lot", "group", ("production_lot",)),
    Cut("hardware_revision", "mode", ("hardware_revision",)),
    Cut("region", "group", ("region",)),
)
_FAILURE_OF: dict[str, Callable[[FailureMode], str]] = {
    "component": lambda mode: mode.component,
    "group": lambda mode: mode.watch_group,
    "mode": lambda mode: mode.code,
}


@dataclass(frozen=True, slots=True, eq=False)
class Partition:
    """A family with the words behind its numbers.

    Attributes
    ----------
    cut : Cut
    family : Family
    failures : tuple of str
        Code by failure number.
    values : tuple of str or None
        Value by value number; None: not recorded, or no dimension.
    share_not_recorded : float
        Of the units, without a value.
    """

    cut: Cut
    family: Family
    failures: tuple[str, ...]
    values: tuple[str | None, ...]
    share_not_recorded: float


def failure_code(mode: str, failure_kind: str) -> str:
    """Return what a mode is counted under: itself, its group or its component."""
    return _FAILURE_OF[failure_kind](failure_modes()[mode])


def modes_of(failure: str, failure_kind: str) -> tuple[str, ...]:
    """Return the modes that are counted under a code."""
    return tuple(
        code for code in failure_modes() if failure_code(code, failure_kind) == failure
    )


def partitions(found: WatchInput) -> tuple[tuple[Partition, ...], tuple[str, ...]]:
    """Return the families of a fleet, and the names of those it has no values for.

    Parameters
    ----------
    found : WatchInput

    Returns
    -------
    tuple of Partition, tuple of str
        A family by dimensions needs units with two values of each; by model, one.
    """
    made, without = [], []
    for cut in CUTS:
        fewest = 1 if cut.name == "model" else FEWEST_VALUES
        if any(_n_values(found, dim) < fewest for dim in cut.dimensions):
            without.append(cut.name)
        else:
            made.append(_partition(found, cut))
    return tuple(made), tuple(without)


def _n_values(found: WatchInput, dimension: str) -> int:
    return len({value for value in found.kinds[dimension] if value is not None})


def _kept(values: tuple[str | None, ...]) -> str | None:
    # As alarms keep it: a value as it is, several as a list.
    if len(values) > 1:
        return json.dumps(values, ensure_ascii=False)
    return values[0] if values else None


def _partition(found: WatchInput, cut: Cut) -> Partition:
    codes = [failure_code(mode, cut.failure_kind) for mode in found.modes]
    failures = tuple(sorted(set(codes)))
    columns = [list(found.kinds[dimension]) for dimension in cut.dimensions]
    together = list(zip(*columns, strict=True)) or [()] * len(found.kinds)
    of_kind = [_kept(values) for values in together]
    # Not recorded is a group of its own: nothing is put elsewhere by guess.
    recorded = sorted({value for value in of_kind if value is not None})
    values: tuple[str | None, ...] = tuple(recorded)
    if None in of_kind:
        values = (*values, None)
    numbers = {value: number for number, value in enumerate(values)}
    n_units = found.kinds["n_units"].to_numpy(dtype=np.float64)
    is_empty = np.array([None in values for values in together])
    return Partition(
        cut=cut,
        family=Family(
            name=cut.name,
            failure_of_mode=np.array(
                [failures.index(code) for code in codes], dtype=np.int64
            ),
            value_of_kind=np.array(
                [numbers[value] for value in of_kind], dtype=np.int64
            ),
        ),
        failures=failures,
        values=values,
        share_not_recorded=float(n_units[is_empty].sum() / n_units.sum()),
    )
