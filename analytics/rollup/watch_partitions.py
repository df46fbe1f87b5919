"""The families of groups that the watch looks at, each a partition of all failures."""

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
    dimension : str or None
        Column of the kinds that tells units apart; None: all units together.
    """

    name: str
    failure_kind: str
    dimension: str | None


# Coarse first: an excess shows where it is well filled, and finer cuts explain it.
CUTS = (
    Cut("component", "component", None),
    Cut("model", "group", "model"),
    Cut("cable_supplier", "mode", "cable_supplier"),
    Cut("lot", "group", "production_lot"),
    Cut("hardware_revision", "mode", "hardware_revision"),
    Cut("region", "group", "region"),
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
        A family by a dimension needs units with two values of it; by model, one.
    """
    made, without = [], []
    for cut in CUTS:
        part = _partition(found, cut)
        n_values = sum(value is not None for value in part.values)
        fewest = 1 if cut.name == "model" else FEWEST_VALUES
        if cut.dimension is not None and n_values < fewest:
            without.append(cut.name)
        else:
            made.append(part)
    return tuple(made), tuple(without)


def _partition(found: WatchInput, cut: Cut) -> Partition:
    codes = [failure_code(mode, cut.failure_kind) for mode in found.modes]
    failures = tuple(sorted(set(codes)))
    if cut.dimension is None:
        of_kind: list[str | None] = [None] * len(found.kinds)
    else:
        of_kind = list(found.kinds[cut.dimension])
    # Not recorded is a group of its own: nothing is put elsewhere by guess.
    recorded = sorted({value for value in of_kind if value is not None})
    values: tuple[str | None, ...] = tuple(recorded)
    if None in of_kind:
        values = (*values, None)
    numbers = {value: number for number, value in enumerate(values)}
    n_units = found.kinds["n_units"].to_numpy(dtype=np.float64)
    is_empty = np.array([value is None for value in of_kind])
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
