"""Time to failure: the rate by age, the share of each mode, and life without some."""

import streamlit as st

from dashboard import text
from dashboard.drawing import charts_ages
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.lives_asked import PAGE
from dashboard.page_parts.lives_shown import (
    Shown,
    chart,
    count,
    days,
    draw,
    fine_percent,
    number,
    percents,
    span,
)
from dashboard.queries.answer import Row


def show_rates(shown: Shown) -> None:
    """Show failures per 1 000 units and year, by age."""
    picture = rate_picture(shown)
    draw(
        picture,
        key="rates_chart",
        seen="Failure rate by age with intervals; the table below holds the numbers",
    )
    shown.offer("rates", picture=picture)
    rows = [
        {
            "ages": f"{_whole(row, 'from_days')} to {_whole(row, 'to_days')}",
            "n_failed": row["n_failed"],
            "unit_years": text.estimate(number(row, "unit_years")),
            "rate": text.estimate(number(row, "rate")),
            "interval": span(row),
        }
        for row in shown.rows("hazard")
    ]
    with st.expander("The rate as a table"):
        widgets.show_table(
            rows,
            {
                "ages": "age (days)",
                "n_failed": "failures",
                "unit_years": "years in service",
                "rate": "failures per 1 000 units and year",
                "interval": "95 % interval",
            },
            key=f"{PAGE}_rates",
            what="Failures per 1 000 units and year by age, with intervals",
        )


def _whole(row: Row, name: str) -> str:
    return text.count(round(number(row, name)))


def rate_picture(shown: Shown) -> Picture:
    """Return the rate by age as a picture, with how to read it."""
    frequency = shown.row("frequency")
    said = f"{frequency['sentence']} " if frequency else ""
    return Picture(
        charts_ages.rate_chart(shown.answer),
        "Failure rate by age",
        f"{said}Numbers: failures in each piece. Whiskers: exact 95 % intervals.",
    )


def show_modes(shown: Shown) -> None:
    """Show the share failed by each mode: areas over age, and a table."""
    rows = shown.rows("modes")
    if not rows:
        return
    picture = modes_picture(shown)
    draw(
        picture,
        key="incidence_chart",
        seen="Share of units failed by age, one area for each failure mode",
    )
    shown.offer("incidence", picture=picture)
    shares = [percents(row, "incidence", "low", "high") for row in rows]
    widgets.show_table(
        [row | {"interval": span(row)} for row in shares],
        {
            "label": "failure",
            "n_failed": "failures at any age",
            "incidence": fine_percent(f"failed by {days(rows[0])} days (%)"),
            "interval": "95 % interval (%)",
        },
        key=f"{PAGE}_modes",
        what="Share of units failed by each mode, with intervals and failures",
    )
    shown.offer("modes")


def modes_picture(shown: Shown) -> Picture:
    """Return the share failed by mode as a picture, with how to read it."""
    first = shown.rows("modes")[0]
    failed = count(first, "n_failed")
    limits = text.interval(100 * number(first, "low"), 100 * number(first, "high"))
    share = text.estimate(100 * number(first, "incidence"))
    noun = "failure" if failed == 1 else "failures"
    return Picture(
        charts_ages.incidence_chart(shown.answer),
        "Which failure takes how many units, by age",
        f"Most often {first['label']}: {share} % of units by {days(first)} days (95 % "
        f"interval {limits} %; {text.count(failed)} {noun} at any age). Drawn as "
        "far as enough units were seen; the areas add up to the share failed.",
    )


def show_without(shown: Shown) -> None:
    """Show what would remain without the failures chosen, closed until opened."""
    found = shown.row("without")
    if found is None:
        return
    picture = without_picture(shown, found)
    with st.expander("What would remain without the failures chosen (an assumption)"):
        st.markdown(f"**{picture.title}**")
        chart(
            picture,
            key="without_chart",
            seen="Share of units failed by age, as it is and without these failures",
        )
        shown.offer("without", picture=picture)


def without_picture(shown: Shown, found: Row) -> Picture:
    """Return life without the failures chosen as a picture, with its sentence."""
    return Picture(
        charts_ages.without_chart(shown.answer),
        "Units failed by age, as it is and without the failures chosen (assumed)",
        str(found["sentence"]),
    )
