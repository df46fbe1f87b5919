"""An answer of the watch made by hand, in the shape of the query's own."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from analytics.rollup.snapshot import About
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from ingest.alarms import AlarmKey, record_alarms
from tests.small_files import ingested

FIRST_SEEN = dt.datetime(2025, 4, 2, 9, 30)  # noqa: DTZ001 - the store keeps UTC without a zone
MARCH = dt.date(2025, 3, 1)
SUPPLIER = AlarmKey.of("cable_supplier", "handle_pilot_open", "Ostrel", MARCH)
LOT = AlarmKey.of("lot", "handle_cable_heat", "L<7> & co", MARCH)
OLD = AlarmKey.of("component", "contactor", None, dt.date(2024, 1, 1))
ABOUT = About(
    snapshot="2025-03-31-0a1b2c3d",
    as_of=dt.date(2025, 3, 31),
    observation_end=dt.date(2025, 3, 1),
    delay_days=30,
    delay_source="estimated",
    n_delays=99,
    origin="records",
    failures_seen="always",
    program="0.1.0",
    suggester="suggester-x",
    published_at=FIRST_SEEN,
    n_units=1000,
    n_cases=100,
    latest_batch=2,
    previous=None,
)


def alarm_row(key: AlarmKey, **other: object) -> Row:
    """Return one alarm as the query gives it."""
    row: Row = {
        "alarm": key.alarm,
        "mode": key.failure if key.family == "cable_supplier" else None,
        "group": None if key.family == "cable_supplier" else key.failure,
        "failure": "Pilot line of the handle open",
        "failure_kind": "mode",
        "dimension": None if key.family == "component" else key.family,
        "value": key.value,
        "hardware_revision": None,
        "where": f"{key.family.replace('_', ' ')} {key.value}",
        "severity": "degraded",
        "since": "2025-01",
        "alarmed": f"{key.look:%Y-%m}",
        "window_months": 3,
        "n_cases": 14,
        "expected": 4.9,
        "evidence": 6.2,
        "threshold": 4.1,
        "times_per_year": 0.2,
        "ratio": 2.86,
        "low": 1.6,
        "high": 5.1,
        "n_after": None,
        "expected_after": None,
        "ratio_after": None,
        "low_after": None,
        "high_after": None,
        "state": "new",
        "note": None,
        "noted_on": None,
        "first_seen_on": FIRST_SEEN.date(),
        "first_seen_snapshot": ABOUT.snapshot,
        "is_new_figures": True,
        "cases": ["R-SECRET-1", "R-SECRET-2"],
        "also": [],
        "earlier": [],
        "sentence": "14 failures in 3 months where about 4.9 were expected.",
        "explanation": "Associated with this supplier; compare the joints.",
        "months": [],
    }
    return row | other


def watch_answer(
    rows: Sequence[Row],
    *,
    past: Sequence[Row] = (),
    filters: Filters | None = None,
    only_new: bool = False,
    invented: bool = False,
    **more: object,
) -> Answer:
    """Return an answer with these alarms."""
    shown = [row for row in rows if row["state"] == "new" or not only_new]
    parts: dict[str, object] = {
        "false_alarms_per_year": 2.0,
        "can_watch": True,
        "why_not": None,
        "sentences": ["Region is not recorded for half of the units."],
        "past": list(past),
        "thin": [{"failure": "Latch", "where": "lot L1"}] * 3,
    }
    return Answer(
        about=ABOUT,
        filters=filters or Filters(),
        method="by hand",
        rows=shown,
        more=parts | more,
        invented=invented,
        asked={"new": True} if only_new else {},
    )


def store_with(folder: Path, *keys: AlarmKey) -> Path:
    """Make a store in which these alarms were recorded; return its folder."""
    ingested(folder, "serial,model\nUX-777,A\n")
    record_alarms(
        folder / "store.duckdb",
        snapshot=ABOUT.snapshot,
        published_at=FIRST_SEEN,
        through=MARCH,
        alarms=keys,
    )
    return folder
