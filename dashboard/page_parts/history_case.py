"""One return: what it is, its readings as judged, what the charger sent, versions."""

import datetime as dt
from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.advice.limits import Limit
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.history_shown import (
    offer_rows,
    show_fields,
    show_versions,
    tell_data_address,
)
from dashboard.page_parts.links import link_to
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Answer, Row
from dashboard.queries.today_critical import (
    KEEP_AWAY,
    PROVE,
    SETTLE,
    failed_checks,
)
from ingest import catalogue

PAGE = "case"


def show_case(answer: Answer, snapshot: Snapshot) -> None:
    """Show one return.

    Parameters
    ----------
    answer : Answer
        As `history.case` gives it.
    snapshot : Snapshot
        The figures shown: how long it has waited is counted up to their day.
    """
    row = answer.rows[0]
    case_id, serial = str(row["case_id"]), str(row["serial"])
    widgets.tell_answer(f"Return {as_typed(case_id)}: {_answer(row, snapshot)}")
    if row["closed_on"] is None:
        _tell_critical(answer, row)
    link_to("unit", f"Open its unit {serial}", {"serial": serial})
    _show_readings(answer, case_id)
    _show_events(answer, case_id)
    st.header("What is recorded")
    show_fields(row, key=f"{PAGE}_fields", what="Fields of the return as it stands")
    show_versions(answer, page=PAGE, name=case_id)
    tell_data_address("cases", case_id)
    widgets.tell_left_out(
        [
            *answer.method.split(". "),
            (
                "A reading without a verdict was stored after the figures were "
                "published, or taken after the day they speak for."
            ),
            text.CAUTION,
        ]
    )


def _tell_critical(answer: Answer, row: Row) -> None:
    mode = catalogue.failure_modes().get(str(row["confirmed_mode"]))
    if mode and mode.severity == "critical":
        st.warning(f"**Critical, not closed.** {KEEP_AWAY} {PROVE}")
        return
    readings = cast("Sequence[Row]", answer.more["readings"])
    failed = failed_checks(readings, mode=row["confirmed_mode"])
    if failed:
        why = as_typed("; ".join(check.words() for check in failed))
        st.warning(
            f"**Critical by a reading, not closed:** {why}.\n\n{KEEP_AWAY} {SETTLE} "
            f"{PROVE}"
        )


def _answer(row: Row, snapshot: Snapshot) -> str:
    received = str(row["received_on"])
    if row["confirmed_mode"] is None:
        closed = row["closed_on"]
        if closed is not None:
            return (
                f"received on {received}, closed on {closed} without a confirmed mode."
            )
        waited = (snapshot.about.as_of - dt.date.fromisoformat(received)).days
        since = (
            f", for {text.counted(waited, 'day')} up to {snapshot.about.as_of}"
            if waited >= 0
            else ""
        )
        return f"received on {received}, waits for confirmation{since}."
    mode = catalogue.failure_modes()[str(row["confirmed_mode"])]
    kind = mode.severity if mode.is_failure else "no failure of the unit"
    day = f" on {row['confirmed_on']}" if row["confirmed_on"] else ""
    closed = f"closed on {row['closed_on']}" if row["closed_on"] else "not closed"
    return (
        f"received on {received}, confirmed{day} as {mode.label} ({kind}), {closed}. "
        f"{mode.definition}."
    )


def _show_readings(answer: Answer, case_id: str) -> None:
    st.header("Readings")
    readings = cast("Sequence[Row]", answer.more["readings"])
    if not readings:
        st.markdown("No reading of this return is stored.")
        return
    n_failed = sum(reading["judged"] == "fail" for reading in readings)
    st.markdown(
        f"{text.counted(len(readings), 'reading')}, {text.count(n_failed)} outside "
        "the limit or recorded as failed; in the order taken."
    )
    checks = catalogue.checks()
    widgets.show_table(
        [
            reading
            | {"label": checks[str(reading["check"])].label}
            | {"shown": _value(reading), "limit": _limit(reading)}
            | {"verdict": text.words(str(reading["judged"] or "not judged yet"))}
            for reading in readings
        ],
        {
            "taken_at": "taken",
            "stage": "stage",
            "label": st.column_config.TextColumn("check", width="medium"),
            "point": "point",
            "condition": "condition",
            "shown": "reading",
            "limit": st.column_config.TextColumn("expected", width="medium"),
            "verdict": "verdict",
            "source": "source of the limit",
            "assumed": "assumed",
        },
        key=f"{PAGE}_readings",
        what="Readings with stage, point, value, limit and verdict",
    )
    offer_rows(answer, "readings", page=PAGE, name=case_id)


def _value(reading: Row) -> str:
    if reading["value"] is None:
        return str(reading["outcome"])
    return f"{reading['value']} {reading['unit'] or ''}".strip()


def _limit(reading: Row) -> str:
    low, high = (cast("float | None", reading[side]) for side in ("low", "high"))
    if low is None and high is None:
        return catalogue.checks()[str(reading["check"])].expected
    return Limit(str(reading["unit_of_limit"]), "", low, high).text()


def _show_events(answer: Answer, case_id: str) -> None:
    events = cast("Sequence[Row]", answer.more["charger_events"])
    if not events:
        return
    st.header("What the charger sent by itself")
    st.caption("In the 30 days before the failure; never a root cause by itself.")
    used = [name for name in events[0] if any(e[name] is not None for e in events)]
    widgets.show_table(
        events,
        {name: text.words(name) for name in used},
        key=f"{PAGE}_events",
        what="Events the charger sent around the failure",
    )
    offer_rows(answer, "charger_events", page=PAGE, name=case_id)
