"""Lives as counts at distinct ages: what every answer about time to failure reads."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.distributions import Distribution, LifeFit, fit_life
from dashboard.filters import Filters
from dashboard.queries.quality_doubts import MAINLY, register
from ingest import catalogue

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class KnownDays:
    """Failures with their day, at each age, and those known to lie in an interval."""

    n_exact: Counts
    lower: Floats
    upper: Floats
    n_interval: Counts


@dataclass(frozen=True)
class Lives:
    """Counts of lives (ages in days), and where units come into view.

    Attributes
    ----------
    failures : DataFrame
        end_age, lower_age (NaN = the failure day itself is known), mode, is_event (a
        failure asked for), n_units.
    working : DataFrame
        Units that have not failed: end_age, n_units, n_open (of these, waiting for
        the cause of an open case).
    entry_age, n_entered : array, shape (j,)
    n_estimated_start : int
    """

    failures: pd.DataFrame
    working: pd.DataFrame
    entry_age: Floats
    n_entered: Counts
    n_estimated_start: int

    @cached_property
    def events(self) -> pd.DataFrame:
        """The failures asked for."""
        return self.failures[self.failures["is_event"]]

    @cached_property
    def age(self) -> Floats:
        """Distinct ages at which lives end, ascending."""
        ends = [self.failures["end_age"], self.working["end_age"]]
        return np.unique(np.concatenate(ends)).astype(np.float64)

    @cached_property
    def n_failed(self) -> Counts:
        """Failures asked for at each age."""
        return self._at_ages(self.events, "n_units")

    @cached_property
    def n_other(self) -> Counts:
        """Other failures at each age."""
        return self._at_ages(self.failures[~self.failures["is_event"]], "n_units")

    @cached_property
    def n_censored(self) -> Counts:
        """Units last seen working, or waiting for their cause, at each age."""
        return self._at_ages(self.working, "n_units")

    @cached_property
    def n_open(self) -> Counts:
        """Of the censored, those that end with an open case, at each age."""
        return self._at_ages(self.working, "n_open")

    @cached_property
    def known(self) -> "KnownDays":
        """The failures asked for, as a law takes them."""
        events = self.events
        # A failure on day 0 and one with a last known good day are known only to lie
        # in an interval; every other failure has its day.
        is_bracketed = events["lower_age"].notna() | (events["end_age"] == 0)
        bracketed, exact = events[is_bracketed], events[~is_bracketed]
        upper = bracketed["end_age"].to_numpy(dtype=np.float64)
        return KnownDays(
            n_exact=self._at_ages(exact, "n_units"),
            lower=np.nan_to_num(bracketed["lower_age"].to_numpy(dtype=np.float64)),
            upper=np.where(upper == 0, 1.0, upper),
            n_interval=bracketed["n_units"].to_numpy(dtype=np.int64),
        )

    @property
    def n_units(self) -> int:
        """Units with usable dates under the filters."""
        return int(self.n_entered.sum())

    @property
    def largest_age(self) -> float:
        """Largest age to which a unit was seen."""
        return float(self.age[-1])

    def of_modes(self, modes: list[str]) -> Counts:
        """Return failures at each age, shape (ages, modes)."""
        column = pd.Index(modes).get_indexer(pd.Index(self.failures["mode"]))
        where = self._places(self.failures)
        failed = np.zeros((len(self.age), len(modes)), dtype=np.int64)
        np.add.at(failed, (where, column), self.failures["n_units"].to_numpy())
        return failed

    def _at_ages(self, rows: pd.DataFrame, column: str) -> Counts:
        weights = rows[column].to_numpy()
        found = np.bincount(
            self._places(rows), weights=weights, minlength=len(self.age)
        )
        return found.astype(np.int64)

    def _places(self, rows: pd.DataFrame) -> Counts:
        return np.searchsorted(self.age, rows["end_age"].to_numpy())


def lives_under(snapshot: Snapshot, filters: Filters) -> Lives:
    """Return the lives under the filters.

    Raises
    ------
    InsufficientDataError
        No unit with usable dates, or a register of mainly returned units.
    """
    _refuse_mainly_returned(snapshot)
    asked = parameters(filters)
    failures, working, entries = (
        snapshot.ask(question, asked, chosen="chosen_lives")
        for question in ("life_ends", "life_working", "life_entries")
    )
    lives = Lives(
        failures=failures.astype({"lower_age": np.float64}),
        working=working,
        entry_age=entries["entry_age"].to_numpy(dtype=np.float64),
        n_entered=entries["n_entered"].to_numpy(dtype=np.int64),
        n_estimated_start=int(entries["n_estimated_start"].sum()),
    )
    if not lives.n_units:
        raise InsufficientDataError(
            "units with usable dates under the filters", needed=1, found=0
        )
    return lives


def parameters(
    filters: Filters, *, by: str | None = None, within: str | None = None
) -> dict[str, object]:
    """Return the values that the questions about lives take."""
    modes = catalogue.failure_modes().values()
    return filters.parameters() | {
        "by": by,
        "within": within,
        "not_failures": [mode.code for mode in modes if not mode.is_failure],
    }


def _refuse_mainly_returned(snapshot: Snapshot) -> None:
    # Nearly every unit of such a register failed: a life would end when it was sold.
    row = register(snapshot)
    if not row["is_mainly_returned"]:
        return
    n_units, n_returned, n_dated, n_by_return = (
        int(str(row[name]))
        for name in (
            "n_units",
            "n_returned",
            "n_dated_returned",
            "n_registered_by_return",
        )
    )
    if n_returned > MAINLY * n_units:
        raise InsufficientDataError(
            "units that were never returned: the register holds mainly returned units",
            needed=int(np.ceil(n_returned * (1 - MAINLY) / MAINLY)),
            found=n_units - n_returned,
        )
    raise InsufficientDataError(
        "returned units registered before their first failure: the register was "
        "mainly filled by returns",
        needed=int(np.ceil((1 - MAINLY) * n_dated)),
        found=n_dated - n_by_return,
    )


def fit_of(
    lives: Lives, distribution: Distribution, *, n_open_failed: Counts | None = None
) -> LifeFit:
    """Return the law fitted to the failures asked for; other failures censor.

    Parameters
    ----------
    lives : Lives
    distribution : {"weibull", "lognormal", "exponential"}
    n_open_failed : array of int, shape (ages,), optional
        Of the lives that end open, how many to count as failures.

    Raises
    ------
    InsufficientDataError
        Too few failures for the law.
    """
    known = lives.known
    moved = 0 if n_open_failed is None else n_open_failed
    return fit_life(
        lives.age,
        known.n_exact + moved,
        lives.n_censored + lives.n_other - moved,
        distribution=distribution,
        lower=known.lower,
        upper=known.upper,
        n_interval=known.n_interval,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
    )
