"""Data quality, the delays: how late reports come in, which months are complete."""

from collections.abc import Mapping, Sequence
from typing import cast

import streamlit as st

from analytics.rollup.snapshot import About
from dashboard import text
from dashboard.drawing import charts
from dashboard.page_parts import widgets
from dashboard.page_parts.ink import show_chart
from dashboard.queries.answer import Answer, Row
from dashboard.queries.quality import part

PAGE = "quality"
STEPS = {"reported": "receipt", "confirmed": "confirmation"}


def show_lateness(answer: Answer) -> None:
    """Show how late reports come in, and which months are not complete."""
    st.header("How late reports come in")
    late = cast("Mapping[str, object]", answer.more["late"])
    steps = cast("Sequence[Row]", late["steps"])
    months = cast("Sequence[Row]", late["months"])
    for step in STEPS:
        st.markdown(
            _delay_sentence(
                [row for row in steps if row["step"] == step],
                n_needed=cast("int", late["n_needed"]),
            )
        )
    if answer.about:
        st.markdown(_observation_end(answer.about))
    if any(row["days"] is not None for row in steps):
        _show_steps(answer, steps)
    if not any(row["n_received"] for row in months):
        st.info("No return of the last twelve months is left under these filters.")
        return
    _show_months(answer, months)


def _delay_sentence(rows: Sequence[Row], *, n_needed: int) -> str:
    step = f"From failure to {STEPS[str(rows[0]['step'])]}"
    n = cast("int", rows[0]["n_delays"])
    if rows[0]["days"] is None:
        return (
            f"{step}: the data do not say yet. Needed: at least {text.count(n_needed)} "
            f"delays of the last twelve months. Found: {text.count(n)}."
        )
    parts = [
        f"{100 * cast('float', row['share']):.0f} % within {_days(row['days'])} days "
        f"({_days(row['low'])} to {_days(row['high'])})"
        for row in rows
    ]
    return (
        f"{step}: {', '.join(parts)}; 95 % intervals in brackets, from "
        f"{text.count(n)} delays on record."
    )


def _days(value: object) -> str:
    return text.count(cast("int", value))


def _observation_end(about: About) -> str:
    end = f"Failures count up to {about.observation_end}"
    if about.delay_source == "estimated":
        return (
            f"{end}: 95 % of failures are confirmed within "
            f"{text.count(about.delay_days)} days, estimated from "
            f"{text.count(about.n_delays)} delays on record."
        )
    return (
        f"{end}: {text.count(about.delay_days)} days are assumed (settings), as there "
        f"are only {text.count(about.n_delays)} delays on record."
    )


def _show_steps(answer: Answer, steps: Sequence[Row]) -> None:
    shown = [
        row
        | {
            "step": f"failure to {STEPS[str(row['step'])]}",
            "share": 100 * cast("float", row["share"]),
        }
        for row in steps
        if row["days"] is not None
    ]
    widgets.show_table(
        shown,
        {
            "step": "step",
            "share": st.column_config.NumberColumn("reports in (%)", format="%.0f"),
            "days": "within days",
            "low": "95 % from",
            "high": "to",
            "n_delays": "delays on record",
        },
        key=f"{PAGE}_late",
        what="Days within which a share of the reports is in, with intervals",
    )
    _offer(answer, "late")


def _show_months(answer: Answer, months: Sequence[Row]) -> None:
    st.markdown("**Returns by month of failure; hollow where not complete**")
    show_chart(
        charts.months_chart(months),
        key=f"{PAGE}_months_chart",
        seen="Bars: returns by month of failure; the table below holds the numbers",
    )
    n_open = sum(1 for row in months if not row["is_complete"])
    are, they, enter = (
        ("is", "It", "enters") if n_open == 1 else ("are", "They", "enter")
    )
    st.caption(
        f"{n_open} of the last {len(months)} months {are} not complete: the month is "
        f"not over, or failures of its last days are still to be confirmed. {they} "
        f"{enter} no trend."
    )
    rows = [
        row
        | {name: _percent(row[name]) for name in ("share_reported", "share_confirmed")}
        | {"is_complete": "complete" if row["is_complete"] else "not complete"}
        for row in months
    ]
    columns = {
        "month": "failed in",
        "n_received": "received",
        "share_reported": widgets.percent("received, of all to come (%)"),
        "n_confirmed": "confirmed",
        "share_confirmed": widgets.percent("confirmed, of all to come (%)"),
        "is_complete": "month",
    }
    widgets.show_table(
        rows,
        # A share that the delays do not say yet has no column.
        {name: head for name, head in columns.items() if rows[0][name] is not None},
        key=f"{PAGE}_months",
        what="Returns by month of failure, received and confirmed, with completeness",
    )
    _offer(answer, "months")


def _offer(answer: Answer, name: str) -> None:
    table = part(answer, name)
    widgets.offer_files(
        PAGE, table, words=table.filters.stated(), table=f"{PAGE}-{name}"
    )


def _percent(value: object) -> float | None:
    return None if value is None else 100 * cast("float", value)
