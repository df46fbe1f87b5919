"""What needs attention today: critical cases, open work, alarms, what changed."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import cast

from analytics.rollup.snapshot import Snapshot, current_snapshot, previous_snapshot
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today_changes import changes
from dashboard.queries.today_critical import critical_cases
from dashboard.queries.today_work import (
    closing_is_recorded,
    days_before,
    open_work,
)
from dashboard.queries.watch import watch
from dashboard.settings import Place
from ingest.errors import NotPublishedError

CAUTION = (
    "A critical case can hurt someone: it needs action by a qualified person, by the "
    "local codes and the employer's rules, whatever the numbers below say."
)
METHOD = (
    "Critical: a mode of severity critical was confirmed, or the last reading of a "
    "gate check or trip check that would confirm one has failed and no confirmed mode "
    "explains it; no statistics. Shown: cases not closed, and those critical since the "
    "figures published before. Open work is counted in days since the day of receipt, "
    "or since the mode was confirmed."
)
RECENT_DAYS = 31  # own choice, no source: what is new where nothing can be compared

PARTS: Mapping[str, str] = {
    "work": "open_work",
    "steps": "work_states",
    "changes": "changes",
    "modes": "changed_modes",
    "alarms": "alarms",
}


def today(place: Place, filters: Filters) -> Answer:
    """Return what needs attention today.

    Parameters
    ----------
    place : Place
    filters : Filters
        Choose cases; `from` and `to` mean the day of receipt.

    Returns
    -------
    Answer
        Rows: critical cases that are not closed, or new since the figures published
        before (`today_critical.critical_cases`); is_new is None where nothing can be
        compared: then those of the last 31 days are shown. More: caution, critical
        {n_open, n_new, n_rest, n_recent (closed, shown since nothing can be compared),
        recent_from, is_compared}, previous {snapshot, as_of, published_on}
        or None, change (a sentence), changes, changed_modes, open_work (state x age),
        work_states (state, with how long it usually takes), closing_is_recorded, alarms
        (new ones), alarms_why_not.

    Raises
    ------
    NotPublishedError
        Nothing has been published.
    """
    snapshot = current_snapshot(place.published)
    changed = changes(snapshot, filters)
    found = critical_cases(snapshot, filters)
    known = _known_before(snapshot) if changed.before else None
    marked = [row | {"is_new": _is_new(row, known)} for row in found]
    recent = days_before(snapshot.about.as_of, RECENT_DAYS)
    shown = [row for row in marked if _is_shown(row, recent)]
    bands, states = open_work(snapshot, filters)
    alarms, why_not = _alarms(place, filters)
    before = changed.before
    changed_rows = [*changed.rows]
    if before and why_not is None:
        changed_rows.append(_new_alarms(alarms))
    return Answer(
        about=snapshot.about,
        filters=filters,
        method=METHOD,
        rows=shown,
        more={
            "caution": CAUTION,
            "critical": {
                "n_open": sum(bool(row["is_open"]) for row in marked),
                "n_new": None
                if known is None
                else sum(bool(row["is_new"]) for row in marked),
                "n_rest": len(marked) - len(shown),
                "n_recent": None
                if known is not None
                else sum(not row["is_open"] for row in shown),
                "recent_from": recent,
                "is_compared": known is not None,
            },
            "previous": {
                "snapshot": before.snapshot,
                "as_of": before.as_of,
                "published_on": before.published_at.date(),
            }
            if before
            else None,
            "change": changed.sentence,
            "changes": changed_rows,
            "changed_modes": changed.modes,
            "open_work": bands,
            "work_states": states,
            "closing_is_recorded": closing_is_recorded(snapshot),
            "alarms": alarms,
            "alarms_why_not": why_not,
        },
        invented=snapshot.about.is_invented,
    )


def part(answer: Answer, name: str) -> Answer:
    """Return one of the further tables of the page as an answer of its own.

    Parameters
    ----------
    answer : Answer
        As `today` gives it.
    name : str
        One of `PARTS`.
    """
    rows = cast("Sequence[Row]", answer.more[PARTS[name]])
    return replace(answer, rows=rows, more={})


def _known_before(snapshot: Snapshot) -> frozenset[object] | None:
    previous = previous_snapshot(snapshot)
    if previous is None:
        return None
    try:
        rows = critical_cases(previous, Filters())
    except NotPublishedError:
        return None
    return frozenset(row["case_id"] for row in rows)


def _is_new(row: Row, known: frozenset[object] | None) -> bool | None:
    return None if known is None else row["case_id"] not in known


def _is_shown(row: Row, recent: str) -> bool:
    if row["is_open"]:
        return True
    if row["is_new"] is None:
        return str(row["since"]) >= recent
    return bool(row["is_new"])


def _new_alarms(alarms: Sequence[Row]) -> Row:
    # An alarm that ended is not among those that stand: there is no count before.
    return {
        "what": "new_alarms",
        "label": "alarms that the figures before did not have",
        "now": sum(bool(row["is_new_figures"]) for row in alarms),
        "before": None,
        "difference": None,
    }


def _alarms(place: Place, filters: Filters) -> tuple[list[Row], str | None]:
    try:
        answer = watch(place, filters)
    except NotPublishedError as error:  # figures of a version that did not watch
        return [], f"{error.message} {error.hint}"
    if not answer.more["can_watch"]:
        return [], cast("str | None", answer.more["why_not"])
    columns = ("alarm", "failure", "where", "severity", "since", "alarmed", "n_cases")
    further = (
        "expected",
        "ratio",
        "low",
        "high",
        "state",
        "is_new_figures",
        "sentence",
    )
    return [
        {name: row[name] for name in (*columns, *further)}
        for row in answer.rows
        if row["is_new_figures"] or row["state"] == "new"
    ], None
