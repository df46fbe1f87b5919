"""What rates are counted over: the span of days, and the units in service in it."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import About, Snapshot
from analytics.statistics.counts import Counts
from dashboard.filters import Filters
from dashboard.queries.quality_doubts import register
from ingest import catalogue

# Own choice, no source: early life in quarters, then by the year; the last is open.
AGE_FROM = (0, 90, 180, 365, 730, 1095, 1825)
AGE_TO = (*AGE_FROM[1:], 1_000_000)
DAYS_A_YEAR = 365.25
PER_UNITS = 1000  # rates are of so many units in service for a year

REFUSED_FIRMWARE = (
    "No rate under a filter of firmware: it is on record as received, not for those "
    "that work on."
)
REFUSED_NO_UNITS = (
    "No rate: no unit of the register with a usable date is there{under}, "
    "so nobody knows how many were in service."
)
REFUSED_MAINLY_RETURNED = (
    "No rate: the register holds mainly units that came back, not all that are in "
    "service."
)
REFUSED_NO_CASES = "No rate: no return is on record."
REFUSED_NOT_COMPLETE = (
    "No rate: no day asked for lies in a complete month. Failures count as "
    "known up to {end}."
)
REFUSED_NO_SERVICE = "No rate: no unit was in service{under} in that time."


@dataclass(frozen=True, slots=True)
class Span:
    """Days from the first to the last, both included."""

    first: dt.date
    last: dt.date

    @property
    def words(self) -> str:
        """The span as "2024-01-01 to 2025-12-31"."""
        return f"{self.first} to {self.last}"


@dataclass(frozen=True, slots=True, eq=False)
class Service:
    """How many units were in service on each day."""

    first: dt.date
    in_service: Counts  # units, by day from the first on
    n_listed: int  # units of the register under the filters
    n_returned: int  # of these, those with a case

    def unit_years(self, span: Span) -> float:
        """Return the years that units were in service in a span, all units together."""
        begin = max(0, (span.first - self.first).days)
        end = max(0, (span.last - self.first).days + 1)
        days = self.in_service[begin:end].sum()
        # Beyond the last change the number of units stays what it was.
        beyond = max(0, end - max(begin, len(self.in_service)))
        last = self.in_service[-1] if len(self.in_service) else 0
        return float(days + beyond * last) / DAYS_A_YEAR


@dataclass(frozen=True, slots=True, eq=False)
class Basis:
    """What every rate of an answer rests on.

    Attributes
    ----------
    about : About
    filters : Filters
    service : Service
    span : Span or None
        Receipts in these days count; None where no rate can be given.
    refused : str or None
        Why no rate can be given, in a sentence.
    unit_years : float
        Years in service in the span.
    counts : DataFrame
        As the question `rate_counts` gives it; empty where refused.
    complete : datetime.date
        Last day of the last complete month.
    """

    about: About
    filters: Filters
    service: Service
    span: Span | None
    refused: str | None
    unit_years: float
    counts: pd.DataFrame
    complete: dt.date


def basis(snapshot: Snapshot, filters: Filters) -> Basis:
    """Return what the rates under the filters are counted over.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` are days of receipt: the first and last day of the span.
        Without them it begins with the month of the first return on record, and ends
        with the last complete month.

    Returns
    -------
    Basis
    """
    about = snapshot.about
    service = _service(snapshot, filters)
    complete = last_complete_day(about)
    first = first_receipt(snapshot)
    span = _span(filters, first, complete)
    refused = _refused(snapshot, filters, service, first, span)
    unit_years = service.unit_years(span) if span else 0.0
    if refused is None and not unit_years:
        refused = REFUSED_NO_SERVICE.format(under=filters.under)
    counts = pd.DataFrame()
    if refused is None and span is not None:
        counts = rate_counts(snapshot, filters, span)
    return Basis(
        about=about,
        filters=filters,
        service=service,
        span=None if refused else span,
        refused=refused,
        unit_years=unit_years,
        counts=counts,
        complete=complete,
    )


def last_complete_day(about: About) -> dt.date:
    """Return the last day of the last month in which failures count as known."""
    after = about.observation_end + dt.timedelta(days=1)
    return after.replace(day=1) - dt.timedelta(days=1)


def first_receipt(snapshot: Snapshot) -> dt.date | None:
    """Return the first day of the month of the first return on record."""
    day = snapshot.ask("first_receipt")["first_day"].iloc[0]
    return None if pd.isna(day) else pd.Timestamp(day).date().replace(day=1)


def rate_counts(snapshot: Snapshot, filters: Filters, span: Span) -> pd.DataFrame:
    """Return the cases received in a span that days in service can be set beside."""
    asked = filters.parameters() | span_parameters(snapshot, span)
    asked |= {"from": span.first, "to": span.last}
    return snapshot.ask("rate_counts", asked, chosen="chosen_cases")


def unit_parameters(filters: Filters) -> dict[str, object]:
    """Return the filters of units; the days are those of receipt and choose no unit."""
    return filters.parameters() | {"from": None, "to": None}


def span_parameters(snapshot: Snapshot, span: Span | None = None) -> dict[str, object]:
    """Return what questions about rates ask for beside the filters."""
    modes = catalogue.failure_modes().values()
    asked: dict[str, object] = {
        "seen_in_warranty": snapshot.about.failures_seen == "in_warranty",
        "not_failures": [mode.code for mode in modes if not mode.is_failure],
        "age_from": list(AGE_FROM),
        "age_to": list(AGE_TO),
    }
    if span is not None:
        asked |= {"first_day": span.first, "last_day": span.last}
    return asked


def left_out(counts: pd.DataFrame) -> Mapping[str, int]:
    """Return how many cases no days in service can be set beside, by reason."""
    if counts.empty:
        return {}
    of_modes = counts[(counts["dimension"] == "mode") & counts["left_out"].notna()]
    sums = of_modes.groupby("left_out")["n_cases"].sum()
    return {str(reason): int(n) for reason, n in sums.items()}


def _service(snapshot: Snapshot, filters: Filters) -> Service:
    asked = unit_parameters(filters) | span_parameters(snapshot)
    asked["observation_end"] = snapshot.about.observation_end
    units = snapshot.ask("life_units", asked, chosen="chosen_units")
    n_listed, n_returned = (int(units[c].sum()) for c in ("n_units", "n_returned"))
    found = snapshot.ask("service_days", asked, chosen="chosen_units")
    if found.empty:
        nobody = np.zeros(0, dtype=np.int64)
        return Service(snapshot.about.as_of, nobody, n_listed, n_returned)
    days = pd.to_datetime(found["day"])
    first = days.iloc[0]
    change = np.zeros((days.iloc[-1] - first).days + 1, dtype=np.int64)
    change[(days - first).dt.days] = found["n_starting"] - found["n_ending"]
    return Service(first.date(), np.cumsum(change), n_listed, n_returned)


def _span(filters: Filters, first: dt.date | None, complete: dt.date) -> Span | None:
    if first is None:
        return None
    begin = max(first, filters.from_ or first)
    end = min(complete, filters.to or complete)
    return Span(begin, end) if begin <= end else None


def _refused(
    snapshot: Snapshot,
    filters: Filters,
    service: Service,
    first: dt.date | None,
    span: Span | None,
) -> str | None:
    if filters.firmware_version:
        return REFUSED_FIRMWARE
    if not len(service.in_service):
        return REFUSED_NO_UNITS.format(under=filters.under)
    if register(snapshot)["is_mainly_returned"]:
        return REFUSED_MAINLY_RETURNED
    if first is None:
        return REFUSED_NO_CASES
    if span is None:
        return REFUSED_NOT_COMPLETE.format(end=snapshot.about.observation_end)
    return None
