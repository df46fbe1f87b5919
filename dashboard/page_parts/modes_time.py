"""Failure modes over time: change between periods, months of failure, age."""

import streamlit as st

from dashboard import text
from dashboard.drawing.charts import months_chart
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.modes_shown import (
    PAGE,
    Counted,
    ages,
    decimal,
    draw,
    finite,
    p_value,
    span,
)
from dashboard.queries.answer import Row

SHOWN_MONTHS = 24


def show_change(counted: Counted) -> None:
    """Show how each mode changed against the period before."""
    change = counted.row("change")
    st.header("What changed against the period before?")
    sentence = widgets.as_typed(str(change["sentence"]))
    if change["refused"]:
        st.info(sentence)
        return
    st.markdown(f"**{sentence}**")
    st.caption(
        "Rates are compared, not counts: each period has its own units. Their ages are "
        "not made equal: a fleet that grows older changes by that alone. One fault "
        "that hits many units at once changes more than these intervals allow for."
    )
    with st.expander("Each mode in both periods"):
        widgets.show_table(
            [_changed(row) for row in counted.inner("change", "rows")],
            {
                "label": st.column_config.TextColumn("failure mode", width="medium"),
                "n_now": "cases now",
                "unit_years_now": decimal("unit-years now", 0),
                "n_before": "cases before",
                "unit_years_before": decimal("unit-years before", 0),
                "rate_now": decimal("per 1 000 and year now"),
                "rate_before": decimal("before"),
                "ratio": decimal("ratio"),
                "interval": "95 % interval",
                "p": "adjusted p",
            },
            key=f"{PAGE}_change",
            what="Cases, rates and their ratio of each mode, now and before",
        )
        counted.offer("change")


def _changed(row: Row) -> Row:
    return row | {
        "ratio": finite(row, "ratio"),
        "interval": span(row),
        "p": p_value(row),
    }


def show_months(counted: Counted) -> None:
    """Show returns by month of failure, and by age, closed until opened."""
    months = counted.rows("months")
    if not months:
        return
    # Where both are the same a second column of the same counts says nothing.
    is_short = any(row["n_in_rate"] != row["n_failures"] for row in months)
    with st.expander("Returns by month of failure and by age"):
        picture = months_picture(counted)
        st.markdown(f"**{picture.title}**")
        draw(
            picture,
            key="months_chart",
            seen="Bars: returns by month of failure; the table below holds the numbers",
        )
        widgets.show_table(
            [_month(row) for row in reversed(months)],
            {
                "month": "month of failure",
                "n_received": "returns so far",
                "n_failures": "confirmed failures",
                "n_no_failure": "no failure of the unit",
                "n_open": "open",
                **({"n_in_rate": "failures in the rate"} if is_short else {}),
                "unit_years": decimal("unit-years", 1),
                "rate": decimal("failures per 1 000 units and year"),
                "interval": "95 % interval",
                "state": "complete",
            },
            key=f"{PAGE}_months",
            what="Returns by month of failure, with the months that are not complete",
        )
        if is_short:
            st.caption(
                "Failures in the rate: of units in service by the register when they "
                "failed; the others are counted beside it."
            )
        counted.offer("months", picture=picture)
        _show_ages(counted)
        st.markdown("Months and ages together:")
        counted.offer("month-ages")


def months_picture(counted: Counted) -> Picture:
    """Return the newest months of failure as a picture, with how to read it."""
    shown = counted.rows("months")[-SHOWN_MONTHS:]
    return Picture(
        months_chart(shown),
        f"Returns by month of failure, the last {text.counted(len(shown), 'month')}",
        "Hollow: not complete. Late reports are still to come, so such a month must "
        "not be read as a fall.",
    )


def _month(row: Row) -> Row:
    return row | {
        "interval": span(row),
        "state": "yes" if row["is_complete"] else "not complete",
    }


def _show_ages(counted: Counted) -> None:
    rows = counted.rows("ages")
    if not rows:
        return
    st.markdown("**Failures by age of the unit**")
    st.markdown(widgets.as_typed(str(counted.row("rate_basis")["sentence"])))
    widgets.show_table(
        [row | {"ages": ages(row), "interval": span(row)} for row in rows],
        {
            "ages": "age (days)",
            "n_failures": "failures",
            "unit_years": decimal("unit-years", 1),
            "rate": decimal("failures per 1 000 units and year"),
            "interval": "95 % interval",
        },
        key=f"{PAGE}_ages",
        what="Failures per 1 000 units and year by age, with intervals",
    )
    counted.offer("ages")
