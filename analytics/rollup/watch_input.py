"""What the watch reads: who could have failed when, and who did."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import duckdb
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.rollup import sql_files
from analytics.rollup.observation import ENOUGH_DELAYS
from analytics.statistics.delays import delay_curve
from analytics.statistics.watch_families import WatchedFleet

Floats = NDArray[np.float64]
Values = tuple[list[str | None], NDArray[np.int64]]

# Days in service; failures of one mode are expected alike between two of them.
AGE_EDGES = (0, 30, 91, 182, 365, 730, 1095, 1461, 1826, 2557, 100_000)
# A month of which hardly anything can be known yet still has units that may fail.
LEAST_COMPLETE = 0.02
LEAST_FILLED = 0.01  # of the days of the fullest month
FIRST_MONTH = dt.date(1970, 1, 1)
MONTHS = 12
FIELDS = (
    *("model", "production_lot", "cable_supplier"),
    *("hardware_revision", "region"),
)


@dataclass(frozen=True, eq=False)
class WatchInput:
    """A fleet as the watch sees it.

    Attributes
    ----------
    fleet : WatchedFleet
    kinds : pandas.DataFrame
        A row a kind: model, production_lot, cable_supplier, hardware_revision,
        region (None = not recorded), n_units.
    failures : pandas.DataFrame
        A row a first failure, in the order of the fleet: case_id, site.
    modes : tuple of str
        Failure modes, in the order of the fleet's numbers.
    first_month : int
        Month of look 0, months since January 1970.
    completeness : array of float, shape (n_looks,)
        Share of the failures of a month that is confirmed by now.
    first_filled : int
        The first look with units in service worth the name: a hundredth of the days
        that the fullest month holds. One old unit makes no history.
    """

    fleet: WatchedFleet
    kinds: pd.DataFrame
    failures: pd.DataFrame
    modes: tuple[str, ...]
    first_month: int
    completeness: Floats
    first_filled: int = 0

    @cached_property
    def values(self) -> dict[str, Values]:
        """The values of each field of the kinds, and the value number of each kind."""
        return {name: _numbered(list(self.kinds[name])) for name in FIELDS}

    def month(self, look: int) -> dt.date:
        """Return the first day of the month of a look."""
        return month_day(self.first_month + int(look))

    def look(self, day: dt.date) -> int:
        """Return the look of the month in which a day lies; may be outside."""
        return month_number(day) - self.first_month


def _numbered(column: list[str | None]) -> Values:
    values = list(dict.fromkeys(column))
    numbers = {value: number for number, value in enumerate(values)}
    return values, np.array([numbers[value] for value in column], dtype=np.int64)


def month_number(day: dt.date) -> int:
    """Return months since January 1970."""
    return (day.year - FIRST_MONTH.year) * MONTHS + day.month - 1


def month_day(number: int) -> dt.date:
    """Return the first day of a month given as months since January 1970."""
    year, month = divmod(number, MONTHS)
    return dt.date(FIRST_MONTH.year + year, month + 1, 1)


def watch_input(
    connection: duckdb.DuckDBPyConnection,
    parameters: Mapping[str, object],
    *,
    as_of: dt.date,
    assumed_delay_days: int,
) -> WatchInput | None:
    """Return the fleet as the watch sees it; None where no unit was ever in service.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Holds unit_lives, cases and confirmation_delay.
    parameters : mapping
        not_failures and seen_in_warranty are used.
    as_of : datetime.date
        Last day that counts.
    assumed_delay_days : int
        Where too few delays from failure to confirmation are on record.

    Returns
    -------
    WatchInput or None
    """
    asked = {**parameters, "as_of": as_of, "age_edges": list(AGE_EDGES)}
    for step in ("watched_units", "watched_kinds"):
        sql_files.run(connection, sql_files.statement("steps", step), asked)
    exposure, failures, kinds = (
        sql_files.run(connection, sql_files.statement("questions", name), asked).df()
        for name in ("watch_exposure", "watch_failures", "watch_kinds")
    )
    if exposure.empty:
        return None
    first = int(exposure["month"].min())
    n_looks = month_number(as_of) - first + 1
    complete = _completeness(connection, as_of, n_looks, assumed_delay_days)
    modes = tuple(sorted(failures["mode"].unique()))
    look = exposure["month"].to_numpy(dtype=np.int64) - first
    ages = np.searchsorted(AGE_EDGES, failures["age_days"], side="right") - 1
    fleet = WatchedFleet(
        n_looks=n_looks,
        n_kinds=len(kinds),
        n_modes=len(modes),
        n_ages=len(AGE_EDGES) - 1,
        kind=exposure["kind"].to_numpy(dtype=np.int64),
        look=look,
        age=exposure["age_band"].to_numpy(dtype=np.int64),
        exposure=exposure["unit_days"].to_numpy(dtype=np.float64) * complete[look],
        failure_kind=failures["kind"].to_numpy(dtype=np.int64),
        failure_look=failures["month"].to_numpy(dtype=np.int64) - first,
        failure_age=np.asarray(ages, dtype=np.int64),
        failure_mode=np.searchsorted(modes, failures["mode"]).astype(np.int64),
    )
    return WatchInput(
        fleet=fleet,
        kinds=kinds.astype(object).where(kinds.notna(), None),
        failures=failures[["case_id", "site"]],
        modes=modes,
        first_month=first,
        completeness=complete,
        first_filled=_first_filled(look, exposure["unit_days"].to_numpy(np.float64)),
    )


def _first_filled(look: NDArray[np.int64], unit_days: Floats) -> int:
    days = np.bincount(look, unit_days)
    return int(np.argmax(days >= LEAST_FILLED * days.max()))


def _completeness(
    connection: duckdb.DuckDBPyConnection,
    as_of: dt.date,
    n_looks: int,
    assumed_delay_days: int,
) -> Floats:
    question = sql_files.statement("questions", "confirmed_delays")
    delays = connection.execute(question).df()
    first = month_day(month_number(as_of) - n_looks + 1)
    days_ago = np.arange((as_of - first).days, -1, -1)
    if int(delays["n_cases"].sum()) >= ENOUGH_DELAYS:
        curve = delay_curve(
            *(
                delays[name].to_numpy(dtype=np.int64)
                for name in ("delay_days", "truncation_days", "n_cases")
            )
        )
        known = curve.completeness_at(days_ago)
    else:
        known = (days_ago >= assumed_delay_days).astype(np.float64)
    days = np.datetime64(as_of, "D") - days_ago
    look = days.astype("datetime64[M]").astype(np.int64) - month_number(first)
    mean = np.bincount(look, known, n_looks) / np.bincount(look, minlength=n_looks)
    return np.asarray(np.maximum(mean, LEAST_COMPLETE), dtype=np.float64)
