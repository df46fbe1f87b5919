"""Failure modes, the counts: the answer, the chart, the table, the way to the cases."""

from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing import charts
from dashboard.drawing.charts_modes import pareto_chart
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.links import href, link_to
from dashboard.page_parts.modes_shown import (
    PAGE,
    Counted,
    Rows,
    count,
    decimal,
    draw,
    number,
    span,
)
from dashboard.queries.answer import Row

NAMED = 3  # non-failures named in the sentence beside the chart
SUBJECTS = {
    "component": "component",
    "severity": "severity",
    "mechanism": "mechanism",
    "cause": "cause",
}


def apart_sentence(counted: Counted, others: Rows) -> str:
    """Return what stands apart: no failure of the unit, open."""
    n_failures, n_confirmed = counted.n("n_failures"), counted.n("n_confirmed")
    parts = [
        f"{row['label']} {text.count(count(row, 'n_cases'))}" for row in others[:NAMED]
    ]
    named = f" ({', '.join(parts)})" if parts else ""
    return (
        f"Returns: {text.count(counted.n('n_received'))}, of these confirmed as a "
        f"failure of the unit {text.count(n_failures)}, confirmed as no failure of it "
        f"{text.count(n_confirmed - n_failures)}{named}, open "
        f"{text.count(counted.n('n_open'))}."
    )


def show_modes(counted: Counted) -> None:
    """Show the commonest modes as bars, all of them as a table, and the way on."""
    failures = [row for row in counted.answer.rows if row["is_failure"]]
    picture = modes_picture(failures) if failures else None
    if picture is not None:
        st.header(picture.title)
        draw(
            picture,
            key="chart",
            seen="Bars: cases of each failure mode; the table below holds the numbers",
        )
    _show_table(counted)
    counted.offer(picture=picture)
    _show_way_to_cases(counted)


def modes_picture(failures: Rows) -> Picture:
    """Return the commonest modes as a picture, with how to read it."""
    n_shown = min(len(failures), charts.SHOWN_BARS)
    n_failures = sum(count(row, "n_cases") for row in failures)
    of_all = f" {n_shown} commonest" if len(failures) > n_shown else ""
    critical = any(row["severity"] == "critical" for row in failures[:n_shown])
    return Picture(
        pareto_chart(failures),
        f"The{of_all} failure modes, by confirmed cases",
        f"So far: this mode and those above it, of {text.count(n_failures)} confirmed "
        "failures of the unit. Whiskers: exact 95 % interval of the share of all "
        "confirmed cases, as cases."
        + (" Critical: the failure can hurt someone." if critical else ""),
    )


def _show_table(counted: Counted) -> None:
    stated = counted.answer.filters.stated()
    rows = [
        _shown(row) | {"cases": href("cases", stated | {"mode": row["mode"]})}
        for row in counted.answer.rows
    ]
    has_rate = counted.answer.rows[0]["rate"] is not None
    st.markdown(
        f"Shares are of {text.counted(counted.n('n_confirmed'), 'confirmed case')}. "
        f"{widgets.as_typed(str(counted.row('rate_basis')['sentence']))}"
    )
    rates = {
        "rate": decimal("per 1 000 units and year"),
        "rate_span": "95 % interval of it",
    }
    widgets.show_table(
        rows,
        {
            "label": st.column_config.TextColumn("failure mode", width="medium"),
            "component": "component",
            "severity": "severity",
            "n_cases": "cases",
            "share": widgets.percent("share (%)"),
            "low": widgets.percent("95 % from (%)"),
            "high": widgets.percent("to (%)"),
            **(rates if has_rate else {}),
            "cases": st.column_config.LinkColumn("cases behind", display_text="open"),
        },
        key=f"{PAGE}_table",
        what="Confirmed failure modes with counts, shares, rates and intervals",
    )


def _shown(row: Row) -> Row:
    return row | {
        "share": 100 * number(row, "share"),
        "low": 100 * number(row, "low"),
        "high": 100 * number(row, "high"),
        "component": text.words(str(row["component"])),
        "severity": row["severity"] if row["is_failure"] else "no failure of the unit",
        "rate_span": span(row, "rate_low", "rate_high"),
    }


def _show_way_to_cases(counted: Counted) -> None:
    # Links in a table cannot be reached by keyboard: here is a way that can.
    rows = {str(row["mode"]): row for row in counted.answer.rows}
    with st.container(horizontal=True, vertical_alignment="bottom"):
        chosen = st.selectbox(
            "See the cases of",
            list(rows),
            format_func=lambda mode: (
                f"{rows[mode]['label']} ({text.count(count(rows[mode], 'n_cases'))})"
            ),
            key=f"{PAGE}_cases_of",
        )
        stated = counted.answer.filters.stated()
        link_to(
            "cases",
            f"Open these {text.counted(count(rows[chosen], 'n_cases'), 'case')}",
            cast("dict[str, list[str]]", stated | {"mode": [chosen]}),
        )


def show_subjects(counted: Counted) -> None:
    """Show the failures by component, severity, mechanism and cause."""
    rows = counted.rows("subjects")
    if not rows:
        return
    n = text.counted(counted.n("n_failures"), "confirmed failure")
    with st.expander("By component, severity, mechanism and cause"):
        st.markdown(f"Shares are of {n} of the unit; each subject adds up to all.")
        widgets.show_table(
            [
                row
                | {"of": SUBJECTS[str(row["subject"])]}
                | {name: 100 * number(row, name) for name in ("share", "low", "high")}
                for row in rows
            ],
            {
                "of": "by",
                "label": "is",
                "n_cases": "cases",
                "share": widgets.percent("share (%)"),
                "low": widgets.percent("95 % from (%)"),
                "high": widgets.percent("to (%)"),
            },
            key=f"{PAGE}_subjects",
            what="Confirmed failures by component, severity, mechanism and cause",
        )
        counted.offer("subjects")
