"""What stands behind the alarms: their cases, and the months of their charts."""

from collections.abc import Sequence
from typing import cast

from analytics.rollup.observation import COMPLETE
from dashboard.queries.answer import Row, rows_of
from dashboard.queries.watch_rows import WatchRows
from ingest import catalogue


def case_rows(found: WatchRows, rows: Sequence[Row]) -> list[Row]:
    """Return the cases of the alarms in `rows`, with the failure in words."""
    modes = catalogue.failure_modes()
    return [
        {
            "alarm": row["alarm"],
            **{name: value for name, value in case.items() if name != "alarm"},
            "label": modes[str(case["mode"])].label,
        }
        for row in rows
        for case in rows_of(found.cases[found.cases["alarm"] == row["lead"]])
    ]


def series_rows(found: WatchRows, rows: Sequence[Row]) -> list[Row]:
    """Return the months of the alarms in `rows`, for their evidence charts."""
    return [
        {
            "alarm": row["alarm"],
            "month": str(month["month"])[:7],
            "observed": month["observed"],
            "expected": month["expected"],
            "evidence": month["evidence"],
            "threshold": month["threshold"],
            "is_complete": cast("float", month["completeness"]) >= COMPLETE,
            "completeness": month["completeness"],
        }
        for row in rows
        for month in rows_of(found.series[found.series["alarm"] == row["lead"]])
    ]
