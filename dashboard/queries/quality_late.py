"""How late reports come in: from failure to receipt, and to confirmation."""

import calendar
import datetime as dt
from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.rollup.observation import ENOUGH_DELAYS
from analytics.rollup.snapshot import Snapshot
from analytics.statistics.delays import DelayCurve, delay_curve
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from ingest import catalogue

STEPS = ("reported", "confirmed")
SHARES = (0.5, 0.8, 0.95)


def late_reports(snapshot: Snapshot, filters: Filters) -> Row:
    """Return how late reports come in, and how complete the last months are.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the day of receipt.

    Returns
    -------
    dict
        steps: step ("reported" = received, "confirmed"), share, days, low, high,
        n_delays; days is None where there are fewer than n_needed delays. months:
        month (of failure), n_received, share_reported, n_confirmed, share_confirmed,
        is_complete. n_needed.
    """
    curves = _curves(snapshot, filters)
    return {
        "n_needed": ENOUGH_DELAYS,
        "steps": [row for step in STEPS for row in _quantiles(step, *curves[step])],
        "months": _months(snapshot, filters, {s: c for s, (_, c) in curves.items()}),
    }


def _curves(
    snapshot: Snapshot, filters: Filters
) -> dict[str, tuple[int, DelayCurve | None]]:
    modes = catalogue.failure_modes().values()
    asked: dict[str, object] = {
        "not_failures": [mode.code for mode in modes if not mode.is_failure]
    }
    found = snapshot.ask(
        "quality_delays", filters.parameters() | asked, chosen="chosen_cases"
    )
    curves: dict[str, tuple[int, DelayCurve | None]] = {}
    for step in STEPS:
        of_step = found[found["step"] == step]
        lag, limit, n = (
            of_step[name].to_numpy(dtype=np.int64)
            for name in ("delay_days", "truncation_days", "n_cases")
        )
        n_delays = int(n.sum())
        is_enough = n_delays >= ENOUGH_DELAYS
        curves[step] = (n_delays, delay_curve(lag, limit, n) if is_enough else None)
    return curves


def _quantiles(step: str, n_delays: int, curve: DelayCurve | None) -> list[Row]:
    rows: list[Row] = []
    for share in SHARES:
        days = (
            (curve.quantile(share), *curve.quantile_interval(share)) if curve else None
        )
        # Delays are whole days.
        whole = map(int, days) if days else (None, None, None)
        row: Row = {"step": step, "share": share}
        row |= dict(zip(("days", "low", "high"), whole, strict=True))
        rows.append(row | {"n_delays": n_delays})
    return rows


def _months(
    snapshot: Snapshot, filters: Filters, curves: Mapping[str, DelayCurve | None]
) -> list[Row]:
    about = snapshot.about
    found = snapshot.ask("quality_months", filters.parameters(), chosen="chosen_cases")
    rows: list[Row] = []
    for month, last_day, n_received, n_confirmed in found.itertuples(index=False):
        first, last = pd.Timestamp(month).date(), pd.Timestamp(last_day).date()
        ages = np.arange((about.as_of - last).days, (about.as_of - first).days + 1)
        rows.append(
            {
                "month": f"{first:%Y-%m}",
                "n_received": int(n_received),
                "share_reported": _share_in(curves["reported"], ages),
                "n_confirmed": int(n_confirmed),
                "share_confirmed": _share_in(curves["confirmed"], ages),
                "is_complete": last <= about.observation_end and _is_whole(last),
            }
        )
    return rows


def _share_in(curve: DelayCurve | None, ages: NDArray[np.int64]) -> float | None:
    # Failures spread evenly over the days of the month.
    return float(curve.completeness_at(ages).mean()) if curve else None


def _is_whole(last: dt.date) -> bool:
    return last.day == calendar.monthrange(last.year, last.month)[1]
