"""Rates of each mode per 1 000 units in service and year, and how they changed."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import (
    benjamini_hochberg,
    central_p_value,
    poisson_interval,
    rate_ratio,
)
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_basis import (
    PER_UNITS,
    Basis,
    Span,
    first_receipt,
    rate_counts,
)
from dashboard.queries.frequencies_words import ratio_words
from ingest import catalogue

ALL = "All these failures together"
MONTHS_A_YEAR = 12
FEWEST_MONTHS = 3  # own choice: a shorter period says more of the season than of change
DISCOVERIES = 0.05
NAMED = 3  # changes named in the sentence


@dataclass(frozen=True, slots=True)
class Periods:
    """Two spans of equally many whole months, one right before the other."""

    now: Span
    before: Span
    n_months: int


def rates(basis: Basis) -> list[Row]:
    """Return how often each mode was confirmed per 1 000 units in service and year.

    Parameters
    ----------
    basis : Basis

    Returns
    -------
    list of dict
        mode (None: all failures of the unit together), label, is_failure, n_cases,
        unit_years, rate, low, high; empty where no rate can be given.
    """
    if basis.refused:
        return []
    counts = _by_mode(basis.counts)
    return [
        row | rate_of(int(str(row["n_cases"])), basis.unit_years)
        for row in _with_all(counts)
    ]


def rate_of(n_cases: int, unit_years: float) -> Row:
    """Return a rate per 1 000 units and year with exact limits; None without years."""
    if not unit_years:
        return {"unit_years": 0.0, "rate": None, "low": None, "high": None}
    low, high = poisson_interval(n_cases, unit_years)
    return {
        "unit_years": unit_years,
        "rate": PER_UNITS * n_cases / unit_years,
        "low": PER_UNITS * float(low),
        "high": PER_UNITS * float(high),
    }


def periods(snapshot: Snapshot, basis: Basis) -> Periods | None:
    """Return the newest complete months and as many before them; None if too few.

    The newest period holds twelve months where there are twice as many on record, else
    half of those there are; under filters of days the whole months between them.
    """
    first = first_receipt(snapshot)
    if basis.span is None or first is None:
        return None
    filters = basis.filters
    end = (basis.span.last + dt.timedelta(days=1)).replace(day=1)
    if filters.from_:
        begin = filters.from_
        begin = begin if begin.day == 1 else _months_on(begin.replace(day=1), 1)
        n_months = _months_between(begin, end)
    else:
        n_months = min(MONTHS_A_YEAR, _months_between(first, end) // 2)
    start = _months_on(end, -n_months)
    before = _months_on(start, -n_months)
    if n_months < FEWEST_MONTHS or before < first:
        return None
    day = dt.timedelta(days=1)
    return Periods(Span(start, end - day), Span(before, start - day), n_months)


def change(snapshot: Snapshot, basis: Basis) -> Row:
    """Return how the rate of each mode changed against the period before.

    Parameters
    ----------
    snapshot : Snapshot
    basis : Basis

    Returns
    -------
    dict
        rows (mode, label, is_failure, n_now, unit_years_now, rate_now, n_before,
        unit_years_before, rate_before, ratio, low, high, p_value, adjusted_p,
        is_change: adjusted p at most 0.05), now, before (first and last day), n_months,
        refused (why there is none), sentence.
    """
    compared = None if basis.refused else periods(snapshot, basis)
    if compared is None:
        refused = basis.refused or (
            f"No change is shown: fewer than {FEWEST_MONTHS} complete months, or no "
            "equally long period before them, are on record."
        )
        empty: Row = {"rows": [], "now": None, "before": None, "n_months": 0}
        return empty | {"refused": refused, "sentence": refused}
    whole = Span(compared.before.first, compared.now.last)
    counts = rate_counts(snapshot, basis.filters, whole)
    now, before = (
        (_by_mode(counts, span), basis.service.unit_years(span))
        for span in (compared.now, compared.before)
    )
    rows = _changes(now, before) if now[1] and before[1] else []
    nothing = None if rows else "No change is shown: no unit was in service."
    return {
        "rows": rows,
        "now": [compared.now.first, compared.now.last],
        "before": [compared.before.first, compared.before.last],
        "n_months": compared.n_months,
        "refused": nothing,
        "sentence": nothing or _sentence(rows, compared),
    }


def _changes(
    now: tuple[dict[str, int], float], before: tuple[dict[str, int], float]
) -> list[Row]:
    (n_now, years_now), (n_before, years_before) = now, before
    modes = {**n_now, **n_before}
    rows = _with_all({m: n_now.get(m, 0) for m in modes})
    beside = {
        row["mode"]: row["n_cases"]
        for row in _with_all({m: n_before.get(m, 0) for m in modes})
    }
    first, second = (
        np.array([int(str(n)) for n in values], dtype=np.int64)
        for values in (
            [row["n_cases"] for row in rows],
            [beside[row["mode"]] for row in rows],
        )
    )
    found = rate_ratio(first, years_now, second, years_before)
    # Of the kind of the interval beside it: the two never contradict each other.
    p_value = central_p_value(first, years_now, second, years_before)
    # The sum of all is no further hypothesis among its parts.
    is_part = np.array([row["mode"] is not None for row in rows])
    adjusted = np.array(p_value, dtype=np.float64)
    if is_part.any():
        tested = benjamini_hochberg(p_value[is_part], rate=DISCOVERIES)
        adjusted[is_part] = tested.adjusted
    return [
        {
            "mode": row["mode"],
            "label": row["label"],
            "is_failure": row["is_failure"],
            "n_now": int(first[i]),
            "unit_years_now": years_now,
            "rate_now": PER_UNITS * float(first[i]) / years_now,
            "n_before": int(second[i]),
            "unit_years_before": years_before,
            "rate_before": PER_UNITS * float(second[i]) / years_before,
            "ratio": float(found.ratio[i]),
            "low": float(found.low[i]),
            "high": float(found.high[i]),
            "p_value": float(p_value[i]),
            "adjusted_p": float(adjusted[i]),
            "is_change": bool(adjusted[i] <= DISCOVERIES),
        }
        for i, row in enumerate(rows)
    ]


def _sentence(rows: Sequence[Row], compared: Periods) -> str:
    found = [row for row in rows if row["is_change"] and row["mode"] is not None]
    against = (
        f"{compared.now.words} against {compared.before.words} "
        f"({compared.n_months} complete months each)"
    )
    n_modes = sum(row["mode"] is not None for row in rows)
    if not n_modes:
        return f"Nothing to compare, no case was confirmed in either time: {against}."
    if not found:
        return (
            f"No mode clearly changed: {against}; "
            f"{text.counted(n_modes, 'mode')} compared, level {DISCOVERIES} after "
            "Benjamini and Hochberg."
        )
    named = [
        f"{row['label']} {text.count(int(str(row['n_now'])))} against "
        f"{text.count(int(str(row['n_before'])))} (rate ratio {ratio_words(row)})"
        for row in found[:NAMED]
    ]
    more = len(found) - len(named)
    beside = f", and {more} more" if more > 0 else ""
    return f"Clearly changed: {'; '.join(named)}{beside}. {against}."


def _by_mode(counts: pd.DataFrame, span: Span | None = None) -> dict[str, int]:
    of_modes = counts[
        (counts["dimension"] == "mode")
        & counts["left_out"].isna()
        & counts["value"].notna()
    ]
    if span is not None:
        month = pd.to_datetime(of_modes["month"])
        of_modes = of_modes[
            (month >= pd.Timestamp(span.first)) & (month <= pd.Timestamp(span.last))
        ]
    sums = of_modes.groupby("value")["n_cases"].sum()
    order = sorted(sums.items(), key=lambda pair: (-pair[1], str(pair[0])))
    return {str(mode): int(n) for mode, n in order}


def _with_all(counts: dict[str, int]) -> list[Row]:
    known = catalogue.failure_modes()
    n_failures = sum(n for mode, n in counts.items() if known[mode].is_failure)
    first: Row = {"mode": None, "label": ALL, "is_failure": True, "n_cases": n_failures}
    return [
        first,
        *(
            {
                "mode": mode,
                "label": known[mode].label,
                "is_failure": known[mode].is_failure,
                "n_cases": n,
            }
            for mode, n in counts.items()
        ),
    ]


def _months_on(first: dt.date, n: int) -> dt.date:
    months = 12 * first.year + first.month - 1 + n
    return dt.date(months // 12, months % 12 + 1, 1)


def _months_between(first: dt.date, end: dt.date) -> int:
    return 12 * (end.year - first.year) + end.month - first.month
