"""The alarms of a snapshot as rows: those of one cause together, with their state."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.rollup.watch_input import MONTHS, month_number
from analytics.statistics.intervals import poisson_interval
from dashboard.queries import watch_words as words
from dashboard.queries.answer import Row, rows_of
from ingest.alarms import AlarmNote, Recorded, RecordedAlarm
from ingest.errors import NotPublishedError

SPARK_MONTHS = 24
# An alarm stands as long as its group is silent after it, while somebody works on it,
# and while the group goes on failing more often than before it.
STANDS_MONTHS = MONTHS
OPEN_STATES = ("acknowledged", "under_action")


@dataclass(frozen=True, slots=True)
class Kept:
    """What the store keeps about alarms.

    Attributes
    ----------
    recorded : mapping of alarm id to RecordedAlarm
    notes : mapping of alarm id to AlarmNote
        The latest of each.
    """

    recorded: Mapping[str, RecordedAlarm]
    notes: Mapping[str, AlarmNote]

    @classmethod
    def of(cls, recorded: Recorded, notes: Sequence[AlarmNote]) -> "Kept":
        """Return what is kept, by alarm."""
        return cls(
            {alarm.key.alarm: alarm for alarm in recorded.alarms},
            {note.alarm: note for note in notes},
        )


@dataclass(frozen=True, slots=True)
class WatchRows:
    """All that the rows of the watch are made of, as frames of the snapshot."""

    alarms: pd.DataFrame
    series: pd.DataFrame
    cases: pd.DataFrame
    comparison: pd.DataFrame
    known_before: frozenset[str] | None

    @classmethod
    def read(cls, snapshot: Snapshot, previous: Snapshot | None) -> "WatchRows":
        """Read them; `known_before` is None where nothing can be compared."""
        return cls(
            alarms=snapshot.ask("watch_alarms"),
            series=snapshot.ask("watch_series"),
            cases=snapshot.ask("watch_cases"),
            comparison=snapshot.ask("watch_comparison"),
            known_before=known_alarms(previous),
        )


def known_alarms(previous: Snapshot | None) -> frozenset[str] | None:
    """Return the ids of the alarms in earlier figures; None if they have no watch."""
    if previous is None:
        return None
    try:
        return frozenset(previous.ask("watch_known")["alarm"])
    except NotPublishedError:  # of a time before the watch
        return None


def alarm_rows(
    found: WatchRows, kept: Kept, *, last_month: dt.date
) -> tuple[list[Row], list[Row]]:
    """Return the alarms that stand, most urgent first, and the past ones.

    Parameters
    ----------
    found : WatchRows
    kept : Kept
    last_month : datetime.date
        First day of the last month watched.

    Returns
    -------
    standing, past : list of dict
        One row for all alarms that share their cases: the strongest of them speaks.
        A later alarm of the same group takes the place of the earlier one, which it
        lists under `earlier`.
    """
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in rows_of(found.alarms):
        groups[str(row["founder"])].append(row)
    rows = [_row(founder, members, found, kept) for founder, members in groups.items()]
    standing: list[Row] = []
    past: list[Row] = []
    newest: dict[tuple[object, ...], Row] = {}
    for row in sorted(rows, key=lambda row: str(row["alarmed"]), reverse=True):
        group = (row["failure"], row["dimension"], row["value"])
        if group in newest:
            cast("list[Row]", newest[group]["earlier"]).append(
                {name: row[name] for name in ("alarm", "alarmed", "state", "note")}
            )
            past.append(row)
            continue
        newest[group] = row
        (standing if _stands(row, last_month) else past).append(row)
    return sorted(standing, key=_urgency), past


def _row(founder: str, members: Sequence[Row], found: WatchRows, kept: Kept) -> Row:
    lead = _lead(founder, members, found)
    family, failure = str(lead["family"]), str(lead["failure"])
    value = cast("str | None", lead["value"])
    kind = words.FAILURE_KIND[family]
    alarm = str(lead["alarm"])
    of_alarm = found.cases[found.cases["alarm"] == alarm]
    row: Row = {
        "alarm": founder,
        "mode": failure if kind == "mode" else None,
        "group": None if kind == "mode" else failure,
        "failure": words.failure_words(family, failure),
        "failure_kind": kind,
        **words.groups(family, value),
        "where": words.where_words(family, value),
        "severity": words.severity(family, failure),
        "since": str(lead["since"])[:7],
        "alarmed": str(lead["look"])[:7],
        "window_months": lead["window_months"],
        "n_cases": lead["observed"],
        "expected": lead["expected"],
        "evidence": lead["evidence"],
        "threshold": lead["threshold"],
        "times_per_year": lead["times_per_year"],
        "ratio": lead["ratio"],
        "low": lead["low"],
        "high": lead["high"],
        **{
            name: lead[name]
            for name in (
                *("n_after", "expected_after"),
                *("ratio_after", "low_after", "high_after"),
            )
        },
        **_from_since(lead, found.series[found.series["alarm"] == alarm]),
        **_state(members, kept, found.series[found.series["alarm"] == alarm]),
        "members": [str(row["alarm"]) for row in members],
        "is_new_figures": found.known_before is None
        or founder not in found.known_before,
        "cases": [
            str(case)
            for case in of_alarm.loc[~of_alarm["is_after"].astype(bool), "case_id"]
        ],
        "also": [
            {
                "failure": words.failure_words(str(row["family"]), str(row["failure"])),
                "where": words.where_words(
                    str(row["family"]), cast("str | None", row["value"])
                ),
                "alarmed": str(row["look"])[:7],
            }
            for row in members
            if row is not lead
        ],
        "earlier": [],
    }
    return row | {
        "sentence": words.sentence(row),
        "explanation": words.explanation(
            rows_of(found.comparison[found.comparison["alarm"] == alarm]),
            str(row["since"]),
        ),
        "months": _spark(found.series[found.series["alarm"] == alarm]),
        "lead": alarm,
    }


def _from_since(lead: Row, series: pd.DataFrame) -> Row:
    """Return the counts behind the ratio: from where the excess began to the alarm."""
    months = pd.to_datetime(series["month"])
    since, look = (pd.Timestamp(str(lead[name])) for name in ("since", "look"))
    within = series[(months >= since) & (months <= look)]
    return {
        "n_since": int(within["observed"].sum()),
        "expected_since": float(within["expected"].sum()),
    }


def _lead(founder: str, members: Sequence[Row], found: WatchRows) -> Row:
    """Return the alarm that speaks for a group: the one that explains its cases best.

    A bad supplier raises alarms in its model, its region and its component too, and
    later ones have more cases behind them. So not the strongest speaks, but the one
    whose group the excess goes with, else the first.
    """
    first = next(row for row in members if row["alarm"] == founder)
    explained = found.comparison[found.comparison["alarm"] == founder]
    for best in rows_of(explained[explained["gain"] > 0]):
        speaks = [
            row for row in members if _is_of(row, str(best["dimension"]), best["value"])
        ]
        if speaks:
            return max(speaks, key=lambda row: cast("float", row["evidence"]))
    return first


def _is_of(row: Row, dimension: str, value: object) -> bool:
    cut = words.CUT[str(row["family"])]
    return (
        cut.dimension == dimension
        and cut.values(cast("str | None", row["value"]))[0] == value
    )


def _state(members: Sequence[Row], kept: Kept, series: pd.DataFrame) -> Row:
    alarms = [str(row["alarm"]) for row in members]
    notes = [kept.notes[alarm] for alarm in alarms if alarm in kept.notes]
    latest = max(notes, key=lambda note: note.noted_at, default=None)
    seen = [kept.recorded[alarm] for alarm in alarms if alarm in kept.recorded]
    first = min(seen, key=lambda alarm: alarm.first_seen_on, default=None)
    state = latest.state if latest else "new"
    is_open_again = False
    if latest is not None and state == "closed":
        day = latest.noted_at.date()
        # What was closed was what was known then.
        is_open_again = any(
            alarm.first_seen_on > day for alarm in seen
        ) or _went_on_after(series, day)
    return {
        "state": "new" if is_open_again else state,
        "is_open_again": is_open_again,
        "note": latest.text if latest else None,
        "noted_on": latest.noted_at.date() if latest else None,
        "first_seen_on": first.first_seen_on if first else None,
        "first_seen_snapshot": first.first_snapshot if first else None,
    }


def _went_on_after(series: pd.DataFrame, day: dt.date) -> bool:
    """Return whether failures since the month of a day are clearly above expected."""
    since = series[pd.to_datetime(series["month"]) > pd.Timestamp(day)]
    n, expected = int(since["observed"].sum()), float(since["expected"].sum())
    if not expected:
        return False
    low, _ = poisson_interval(n, expected)
    return float(low) > 1


def _spark(series: pd.DataFrame) -> list[Row]:
    return [
        {
            "month": str(row["month"])[:7],
            "observed": row["observed"],
            "expected": row["expected"],
        }
        for row in rows_of(series.tail(SPARK_MONTHS))
    ]


def _stands(row: Row, last_month: dt.date) -> bool:
    if row["state"] == "closed":
        return False
    alarmed = dt.date.fromisoformat(f"{row['alarmed']}-01")
    is_recent = month_number(last_month) - month_number(alarmed) < STANDS_MONTHS
    goes_on = cast("float | None", row["low_after"]) or 0
    return is_recent or row["state"] in OPEN_STATES or goes_on > 1


def _urgency(row: Row) -> tuple[bool, int, float]:
    # What somebody must look at first, what can hurt, then what costs most returns.
    more = sum(
        cast("float", row[n]) - cast("float", row[expected])
        for n, expected in (("n_cases", "expected"), ("n_after", "expected_after"))
    )
    critical = words.SEVERITIES.index(str(row["severity"]))
    return row["state"] != "new", critical, -more
