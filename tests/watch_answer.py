"""A hand-made answer of the watch, for tests of the page: every number is invented."""

import datetime as dt

from dashboard.filters import Filters
from dashboard.queries.answer import Answer

FAMILY = {"expected": 5.2, "ratio": 2.7, "low": 1.5, "high": 4.8}


def alarm(name, **changes):
    """Return a row of the list, with values of one's own."""
    return {
        "alarm": name,
        "mode": None,
        "group": "handle_cable_latch",
        "failure": "Latch of the handle",
        "failure_kind": "group",
        "dimension": "model",
        "value": "Brindlow 32",
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
