"""Confirmed cases counted by component, mechanism, cause and severity."""

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.intervals import binomial_interval
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from ingest import catalogue

# The list of each subject in the catalogue.
SUBJECTS = {
    "component": "components",
    "severity": "severities",
    "mechanism": "mechanisms",
    "cause": "cause_categories",
}
NOT_RECORDED = "Not recorded"


def subjects(snapshot: Snapshot, filters: Filters, modes: Sequence[Row]) -> list[Row]:
    """Return how many confirmed failures fall to each component, severity and so on.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters
    modes : sequence of dict
        Rows of the answer about modes.

    Returns
    -------
    list of dict
        subject, value (None: not recorded), label, n_cases, n_failures (all confirmed
        failures of the unit: what the share is of), share, low, high; exact limits.
        Within a subject the commonest first; each adds up to all failures.
    """
    failures = {
        str(row["mode"]): int(str(row["n_cases"])) for row in modes if row["is_failure"]
    }
    known = catalogue.failure_modes()
    counted: dict[str, Counter[str | None]] = {name: Counter() for name in SUBJECTS}
    for mode, n in failures.items():
        counted["component"][known[mode].component] += n
        counted["severity"][known[mode].severity] += n
    found = snapshot.ask("subject_counts", filters.parameters(), chosen="chosen_cases")
    for subject, value, mode, n in found.itertuples(index=False):
        if mode in failures:
            counted[str(subject)][None if pd.isna(value) else str(value)] += int(n)
    n_failures = sum(failures.values())
    return [
        row
        for subject, counts in counted.items()
        for row in _rows(subject, counts.items(), n_failures)
    ]


def _rows(
    subject: str, counts: Iterable[tuple[str | None, int]], n_failures: int
) -> list[Row]:
    order = sorted(counts, key=lambda pair: (-pair[1], str(pair[0])))
    if not order:
        return []
    labels = catalogue.codes(SUBJECTS[subject])
    n_cases = np.array([n for _, n in order], dtype=np.int64)
    low, high = binomial_interval(
        n_cases, np.full(len(n_cases), n_failures), method="clopper-pearson"
    )
    return [
        {
            "subject": subject,
            "value": value,
            "label": NOT_RECORDED if value is None else labels[value].label,
            "n_cases": n,
            "n_failures": n_failures,
            "share": n / n_failures,
            "low": float(bottom),
            "high": float(top),
        }
        for (value, n), bottom, top in zip(
            order, np.ravel(low), np.ravel(high), strict=True
        )
    ]
