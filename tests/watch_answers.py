"""Answers of the watch made by hand, in its own shape: every number is invented."""

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


FAMILY = {"expected": 5.2, "ratio": 2.7, "low": 1.5, "high": 4.8}


def alarm(name, **changes):
    """Return a row of the list, with values of one's own."""
    return {
        "alarm": name,
        "members": [name],
        "mode": None,
        "group": "handle_cable_latch",
        "failure": "Latch of the handle",
        "failure_kind": "group",
        "dimension": "model",
        "value": "Brindlow 32",
        "hardware_revision": None,
        "where": "model Brindlow 32",
        "severity": "degraded",
        "since": "2025-11",
        "alarmed": "2026-01",
        "window_months": 6,
        "n_cases": 14,
        **FAMILY,
        "evidence": 5.1,
        "threshold": 4.2,
        "times_per_year": 0.06,
        "n_after": None,
        "expected_after": None,
        "ratio_after": None,
        "low_after": None,
        "high_after": None,
        "state": "new",
        "note": None,
        "noted_on": None,
        "first_seen_on": dt.date(2026, 2, 3),
        "first_seen_snapshot": "2026-02-03-abcdef12",
        "is_new_figures": True,
        "cases": ["W-1"],
        "also": [],
        "earlier": [],
        "sentence": f"Sentence of {name}.",
        "explanation": f"Explanation of {name}.",
        "months": months(24),
    } | changes


def months(n):
    """Return months up to 2026-06 with failures observed and expected."""
    found = []
    for back in reversed(range(n)):
        year, month = divmod(2026 * 12 + 5 - back, 12)
        found.append(
            {"month": f"{year}-{month + 1:02}", "observed": back % 3, "expected": 1.5}
        )
    return found


def alarm_row(key: AlarmKey, **other: object) -> Row:
    """Return one alarm as the query gives it, of a group by its key."""
    is_mode = key.family == "cable_supplier"
    words: Row = {
        "mode": key.failure if is_mode else None,
        "group": None if is_mode else key.failure,
        "failure": "Pilot line of the handle open",
        "failure_kind": "mode",
        "dimension": None if key.family == "component" else key.family,
        "value": key.value,
        "where": f"{key.family.replace('_', ' ')} {key.value}",
        "since": "2025-01",
        "alarmed": f"{key.look:%Y-%m}",
        "window_months": 3,
        "expected": 4.9,
        "evidence": 6.2,
        "threshold": 4.1,
        "times_per_year": 0.2,
        "ratio": 2.86,
        "low": 1.6,
        "high": 5.1,
        "first_seen_on": FIRST_SEEN.date(),
        "first_seen_snapshot": ABOUT.snapshot,
        "cases": ["R-SECRET-1", "R-SECRET-2"],
        "sentence": "14 failures in 3 months where about 4.9 were expected.",
        "explanation": "Associated with this supplier; compare the joints.",
        "months": [],
    }
    return alarm(key.alarm, **(words | other))


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
        **{name: [] for name in ("series", "cases", "comparison", "lots")},
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


def series(name, n=30):
    """Return the months of one alarm as the evidence charts need them."""
    return [
        month
        | {
            "alarm": name,
            "evidence": 1.25 if month["observed"] else None,
            "threshold": 4.2 if number > 12 else None,
            "is_complete": month["month"] < "2026-05",
            "completeness": 1.0 if month["month"] < "2026-05" else 0.5,
        }
        for number, month in enumerate(months(n))
    ]


def case(name, case_id, **changes):
    """Return a case of an alarm."""
    return {
        "alarm": name,
        "case_id": case_id,
        "serial": f"S-{case_id}",
        "failed_on": dt.date(2026, 1, 9),
        "received_on": dt.date(2026, 1, 20),
        "mode": "latch_broken",
        "label": "Latch broken, does not hold",
        "model": "Brindlow 32",
        "lot": "L1",
        "cable_supplier": "Halvorn",
        "hardware_revision": "B",
        "region": "Harbour",
        "site": None,
        "is_after": False,
    } | changes


def compared(name, **changes):
    """Return a row of the comparison of an alarm."""
    return {
        "alarm": name,
        "dimension": "production_lot",
        "value": "L1",
        "n_cases": 11,
        "expected": 3.1,
        "n_rest": 6,
        "expected_rest": 5.9,
        "ratio": 3.49,
        "low": 1.2,
        "high": 11.1,
        "gain": 1.4,
        "is_best": True,
        "is_own": False,
    } | changes


def thin():
    """Return a group too small to watch."""
    return {
        "failure": "Latch of the handle",
        "where": "lot L1",
        "n_failures": 2,
        "expected_year": 1.5,
        "enough": "20 failures expected a year; here 1.50",
    }


def answer(snapshot, rows=(), *, filters=None, **more):
    """Return an answer of the watch about a snapshot, with parts of one's own."""
    about = snapshot.about
    parts = {
        "false_alarms_per_year": 2.0,
        "can_watch": True,
        "why_not": None,
        "sentences": ["Caveat about these records."],
        "n_new": sum(row["state"] == "new" for row in rows),
        "n_open": len(rows),
        "fleet": {
            "first_month": "2021-01",
            "last_month": "2026-06",
            "n_months": 66,
            "n_failures": 812,
            "n_groups": 90,
            "is_joint": True,
            "is_complete": False,
            "completeness": 0.31,
        },
        "families": [],
        "past": [],
        "series": [month for row in rows for month in series(row["alarm"])],
        "cases": [],
        "comparison": [],
        "lots": [],
        "thin": [],
        "early": [],
        "repeats": [],
        "measured": [],
    }
    return Answer(
        about=about,
        filters=filters or Filters(),
        method="Made up. For a test.",
        rows=list(rows),
        more=parts | more,
        invented=True,
    )
