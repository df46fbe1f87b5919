"""What fails most: confirmed causes of the returns, counted."""

import numpy as np

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.frequencies import frequencies
from ingest import catalogue

METHOD = (
    "Counts of cases by confirmed mode; share of all confirmed cases under the filters "
    "with its exact (Clopper-Pearson) 95 % interval. Repeat returns and units not in "
    "the register are included; open cases are counted apart."
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
        share, low, high. More: n_received, n_confirmed, n_open, n_failures,
        n_repeats, n_unknown_serial, and all that `frequencies` gives.
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
            **frequencies(snapshot, filters, rows),
        },
        invented=snapshot.about.is_invented,
    )
