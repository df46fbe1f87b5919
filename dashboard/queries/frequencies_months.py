"""Returns by month of failure and by age, with the months that are not complete."""

import calendar
import datetime as dt

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import Snapshot
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_basis import (
    AGE_FROM,
    AGE_TO,
    Basis,
    Span,
    first_receipt,
    span_parameters,
)
from dashboard.queries.frequencies_rates import rate_of

COUNTS = ("n_received", "n_failures", "n_no_failure", "n_open")
IN_RATE = "n_in_rate"
NO_RATE: Row = {"unit_years": None, "rate": None, "low": None, "high": None}


def months(snapshot: Snapshot, basis: Basis) -> tuple[list[Row], list[Row]]:
    """Return returns by month of failure, and by month and age.

    Parameters
    ----------
    snapshot : Snapshot
    basis : Basis

    Returns
    -------
    by_month : list of dict
        month, n_received, n_failures, n_no_failure, n_open, n_in_rate (failures of
        units that were in service by the register: those the rate counts), unit_years,
        rate, low, high (per 1 000 units in service and year; None where the month is
        not complete or no rate can be given), is_complete. Months without a return
        are there with 0, from the first with one to the last complete one.
    by_age : list of dict
        month, from_days, to_days (both None: age not known; to_days None: and older),
        the counts, is_complete; pairs without a return have no row.
    """
    asked = basis.filters.parameters() | span_parameters(snapshot)
    found = snapshot.ask("failure_months", asked, chosen="chosen_cases")
    if found.empty:
        return [], []
    found["month"] = pd.to_datetime(found["month"]).dt.date
    begin, end = _complete_span(snapshot, basis)
    # A month without a return counts as such once its reports are in.
    last = max(found["month"].max(), _last_month_within(end))
    every = _all_months(found["month"].min(), last)
    counted = (*COUNTS, IN_RATE)
    sums = found.groupby("month")[list(counted)].sum().reindex(every, fill_value=0)
    by_month: list[Row] = []
    listed = sums.to_numpy(dtype=np.int64).tolist()
    for first, n in zip(every, listed, strict=True):
        span = _month(first)
        counts: Row = dict(zip(counted, n, strict=True))
        is_complete = begin <= span.first and span.last <= end
        row: Row = {"month": f"{first:%Y-%m}", **counts, **NO_RATE}
        if is_complete and not basis.refused:
            row |= rate_of(int(str(counts[IN_RATE])), basis.service.unit_years(span))
        by_month.append(row | {"is_complete": is_complete})
    return by_month, _by_age(found, begin, end)


def _by_age(found: pd.DataFrame, begin: dt.date, end: dt.date) -> list[Row]:
    last_of = dict(zip(AGE_FROM, AGE_TO, strict=True))
    rows: list[Row] = []
    for row in found.to_dict("records"):
        span = _month(row["month"])
        age = None if pd.isna(row["age_from"]) else int(row["age_from"])
        to = None if age is None else last_of[age]
        rows.append(
            {
                "month": f"{span.first:%Y-%m}",
                "from_days": age,
                "to_days": None if to == AGE_TO[-1] else to,
                **{name: int(row[name]) for name in COUNTS},
                "is_complete": begin <= span.first and span.last <= end,
            }
        )
    return rows


def _complete_span(snapshot: Snapshot, basis: Basis) -> tuple[dt.date, dt.date]:
    # A filter of days of receipt cuts the reports of failures short of its last day,
    # and those of months before the first.
    about, filters = basis.about, basis.filters
    late = dt.timedelta(days=about.delay_days)
    end = min(about.observation_end, (filters.to or about.as_of) - late)
    first = first_receipt(snapshot) or about.as_of
    return max(first, filters.from_ or first), end


def _month(first: dt.date) -> Span:
    last = calendar.monthrange(first.year, first.month)[1]
    return Span(first, first.replace(day=last))


def _last_month_within(end: dt.date) -> dt.date:
    """Return the first day of the last month that is over by a day."""
    after = end + dt.timedelta(days=1)
    return (after.replace(day=1) - dt.timedelta(days=1)).replace(day=1)


def _all_months(first: dt.date, last: dt.date) -> list[dt.date]:
    return [day.date() for day in pd.date_range(first, last, freq="MS")]
