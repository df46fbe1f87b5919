"""What fails most: confirmed causes of the returns, counted."""

from collections.abc import Sequence
from typing import cast

import numpy as np

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.frequencies import frequencies
from dashboard.queries.frequencies_rates import rate_of
from ingest import catalogue

METHOD = (
    "Counts of cases by confirmed mode; share of all confirmed cases under the filters "
    "with its exact (Clopper-Pearson) 95 % interval. Repeat returns and units not in "
    "the register are included; open cases are counted apart. Rates are per 1 000 "
    "units in service and year, over the complete months alone, with exact Poisson "
    "limits."
)


def modes(snapshot: Snapshot, filters: Filters) -> Answer:
    """Return how often each failure mode was confirmed, commonest first.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
        `from` and `to` choose by the day of receipt.

    Returns
    -------
    Answer
        Rows: mode, label, component, severity, is_failure, n_cases, n_confirmed,
        share, low, high, running (share of all failures of the unit up to this mode;
        None for what is no failure), n_in_rate, unit_years, rate, rate_low, rate_high
        (per 1 000 units in service and year; None where no rate can be given). More:
        n_received, n_confirmed, n_open, n_failures, n_repeats, n_unknown_serial, and
        all that `frequencies` gives.
    """
    counts = snapshot.ask("mode_counts", filters.parameters(), chosen="chosen_cases")
    confirmed = counts[counts["mode"].notna()]
    n_confirmed = int(confirmed["n_cases"].sum())
    known = catalogue.failure_modes()
    n_cases = confirmed["n_cases"].to_numpy(dtype=np.int64)
    low, high = binomial_interval(
        n_cases, np.full(len(n_cases), max(n_confirmed, 1)), method="clopper-pearson"
    )
    rows: list[Row] = [
        {
            "mode": mode,
            "label": known[mode].label,
            "component": known[mode].component,
            "severity": known[mode].severity,
            "is_failure": known[mode].is_failure,
            "n_cases": int(count),
            "n_confirmed": n_confirmed,
            "share": float(count) / n_confirmed,
            "low": float(bottom),
            "high": float(top),
        }
        for mode, count, bottom, top in zip(
            confirmed["mode"], n_cases, np.ravel(low), np.ravel(high), strict=True
        )
    ]
    n_received = int(counts["n_cases"].sum())
    more = frequencies(snapshot, filters, rows)
    _add_running_and_rates(rows, cast("Sequence[Row]", more["rates"]))
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=rows,
        more={
            "n_received": n_received,
            "n_confirmed": n_confirmed,
            "n_open": n_received - n_confirmed,
            "n_failures": int(
                sum(
                    count
                    for mode, count in zip(confirmed["mode"], n_cases, strict=True)
                    if known[mode].is_failure
                )
            ),
            "n_repeats": int(counts["n_repeats"].sum()),
            "n_unknown_serial": int(counts["n_unknown_serial"].sum()),
            **more,
        },
        invented=snapshot.about.is_invented,
    )


def _add_running_and_rates(rows: Sequence[Row], rates: Sequence[Row]) -> None:
    n_failures = sum(_count(row) for row in rows if row["is_failure"])
    by_mode = {rate["mode"]: rate for rate in rates}
    so_far = 0
    for row in rows:
        so_far += _count(row) if row["is_failure"] else 0
        row["running"] = so_far / n_failures if row["is_failure"] else None
        # A mode without a case in the span of the rates has none there either.
        rate = by_mode.get(row["mode"])
        row["n_in_rate"] = rate["n_cases"] if rate else 0 if rates else None
        row["unit_years"] = rates[0]["unit_years"] if rates else None
        nothing = rate_of(0, cast("float", rates[0]["unit_years"])) if rates else {}
        for name, source in (
            ("rate", "rate"),
            ("rate_low", "low"),
            ("rate_high", "high"),
        ):
            row[name] = (rate or nothing).get(source)


def _count(row: Row) -> int:
    return cast("int", row["n_cases"])
