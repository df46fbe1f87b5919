"""Time to failure, first: the curve with the fit over it, and ages and shares."""

import math
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing import charts_life
from dashboard.drawing.charts_fitted import NAMES
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.lives_asked import PAGE, choose_ages
from dashboard.page_parts.lives_shown import (
    Shown,
    count,
    days,
    draw,
    fine_percent,
    number,
    percents,
    span,
)
from dashboard.queries.answer import Row

B10 = 0.10
YEAR = 365


def answer_sentence(shown: Shown) -> str:
    """Return by which age 10 % have failed, and how many failed in the first year."""
    row = next(row for row in shown.rows("b_lives") if row["failed_fraction"] == B10)
    where = (
        ", an age beyond the oldest unit seen, so read from the fit alone"
        if row["extrapolated"]
        else ""
    )
    condition = " if no other failure existed" if shown.is_part else ""
    return (
        f"10 % of units have failed by {days(row)} days{condition} "
        f"(B10; 95 % interval {span(row)}; {_counted(shown)}){where}."
        f"{_first_year(shown)}"
    )


def _counted(shown: Shown) -> str:
    more = shown.answer.more
    return (
        f"{text.counted(count(more, 'n_failed'), 'failure')} of "
        f"{text.counted(count(more, 'n_units'), 'unit')}"
    )


def _first_year(shown: Shown) -> str:
    rows = shown.rows("failed_by")
    row = next((row for row in rows if row["age_days"] == YEAR), None)
    if row is None or row["extrapolated"] or shown.is_part:
        return ""
    n = count(row, "n_at_risk")
    share = text.share(number(row, "curve_failed"), n)
    limits = text.share_interval(number(row, "curve_low"), number(row, "curve_high"), n)
    return (
        f" In the first year {share} failed (95 % interval {limits}; "
        f"{text.count(count(row, 'n_failed'))} failures)."
    )


def tell_reach(shown: Shown) -> None:
    """Write up to which day failures count, where later ones are not all known."""
    about, end = shown.answer.about, shown.answer.more["observation_end"]
    if about is not None and end != about.as_of:
        st.caption(
            f"Failures count up to {end}; later months are not complete, and nothing "
            "here rests on them."
        )


def curve_picture(shown: Shown) -> Picture:
    """Return the curve as a picture, with how to read it."""
    oldest = text.estimate(number(shown.answer.more, "largest_age"))
    seen = f"The oldest unit was seen to {oldest} days"
    if shown.is_part:
        title = "Units failed by age with this failure, beside others"
        words = (
            f"{seen}. The fit is not drawn: it says what would be if other failures "
            "did not exist, the curve what happens beside them."
        )
    elif shown.row("fit") is None:
        title = "Units failed by age, and what the assumed shapes would mean"
        words = f"{seen}. The orange range rests on the shapes assumed, not on data."
    else:
        title = "Units failed by age, and the fit over it"
        band = (
            ", the wider band at all of its ages at once"
            if shown.has_band
            else "; too few failed for a band that holds at all ages at once"
        )
        words = (
            f"{seen}; beyond it the fit is dashed. The interval holds at one age 95 "
            f"times in 100{band}."
        )
    return Picture(charts_life.curve_chart(shown.answer), title, words)


def show_curve(shown: Shown) -> None:
    """Show the curve, its files, and its table, closed."""
    picture = curve_picture(shown)
    draw(
        picture,
        key="chart",
        seen="Curve: share of units failed by age; the table below holds the numbers",
    )
    shown.offer(picture=picture)
    rows = [_curve_row(row, is_part=shown.is_part) for row in shown.answer.rows]
    with st.expander("The curve as a table"):
        widgets.show_table(
            rows,
            {
                "age_days": "age (days)",
                "failed": fine_percent("failed (%)"),
                "low": fine_percent("95 % from (%)"),
                "high": fine_percent("to (%)"),
                "band": "95 % band (%)",
                "n_at_risk": "units at risk",
                "n_failed": "failures",
            },
            key=f"{PAGE}_curve",
            what="Share of units failed by age, with interval, band and units at risk",
        )
    _show_brackets(shown)


def _show_brackets(shown: Shown) -> None:
    found = shown.row("bracketed")
    if found is None:
        return
    with st.expander("Failures known only to lie between two days"):
        st.markdown(str(found["sentence"]))
        if not found["rows"]:
            return
        names = ("failed_from", "failed_to", "low", "high", "curve_failed")
        rows = [percents(row, *names) for row in cast("list[Row]", found["rows"])]
        widgets.show_table(
            rows,
            {
                "age_days": "by age (days)",
                "failed_from": fine_percent("failed, at least (%)"),
                "failed_to": fine_percent("at most (%)"),
                "low": fine_percent("95 % from (%)"),
                "high": fine_percent("to (%)"),
                "curve_failed": fine_percent("by the curve (%)"),
                "n_failed": "failures",
            },
            key=f"{PAGE}_brackets",
            what="Shares failed with failures counted anywhere within their brackets",
        )
        shown.offer("brackets")


def _curve_row(row: Row, *, is_part: bool) -> Row:
    if is_part:
        # The band is that of the curve without other failures: another quantity.
        names = ("incidence", "incidence_low", "incidence_high")
        values = [100 * number(row, name) for name in names]
        band = ""
    else:
        names = ("survival", "high", "low")
        values = [100 * (1 - number(row, name)) for name in names]
        low, high = (100 * (1 - number(row, f"band_{end}")) for end in ("high", "low"))
        band = "" if math.isnan(low) else f"{low:.2f} to {high:.2f}"
    return (
        row | dict(zip(("failed", "low", "high"), values, strict=True)) | {"band": band}
    )


def show_ages(shown: Shown) -> None:
    """Show the ages by which given shares have failed."""
    fit = shown.row("fit")
    if fit is None:
        return
    law = NAMES[str(fit["distribution"])]
    beside = ", if no other failure existed" if shown.is_part else ""
    st.header(f"Age by which units have failed ({law} fit{beside})")
    rows: list[Row] = [
        {
            "failed": f"{100 * number(row, 'failed_fraction'):.0f} %",
            "name": f"B{100 * number(row, 'failed_fraction'):.0f}",
            "age": days(row),
            "interval": span(row),
            "n_failed": row["n_failed"],
            "note": "beyond the oldest unit seen" if row["extrapolated"] else "",
        }
        for row in shown.rows("b_lives")
    ]
    widgets.show_table(
        rows,
        {
            "failed": "failed",
            "name": "short name",
            "age": "by age (days)",
            "interval": "95 % interval (days)",
            "n_failed": "failures behind it",
            "note": "note",
        },
        key=f"{PAGE}_ages",
        what="Ages by which given shares of units have failed, with intervals",
    )
    shown.offer("ages")
    st.markdown(f"{_half(shown)} {_mean(shown)}")


def _half(shown: Shown) -> str:
    row = shown.row("median") or {}
    reached = row.get("age_days")
    if reached is None or text.estimate(number(row, "age_days")) == "not reached":
        return "The curve does not reach the age by which half have failed."
    return (
        f"By the curve alone half have failed by {days(row)} days (95 % interval "
        f"{span(row)})."
    )


def _mean(shown: Shown) -> str:
    row = shown.row("restricted_mean")
    if row is None:
        return ""
    before = (
        "this failure, if no other existed" if shown.is_part else "its first failure"
    )
    return (
        f"Of the first {days(row, 'horizon_days')} days a unit works "
        f"{days(row, 'mean_days')} on average before {before} (95 % interval "
        f"{span(row)})."
    )


def show_shares(shown: Shown) -> None:
    """Show the shares failed by given ages, which may be named."""
    beside = ", if no other failure existed" if shown.is_part else ""
    st.header(f"Share of units failed by given ages{beside}")
    choose_ages(shown.words)
    rows = [_share_row(row) for row in shown.rows("failed_by")]
    fitted = {"fit": "by the fit (%)", "fit_interval": "95 % interval (%)"}
    widgets.show_table(
        rows,
        {
            "age_days": st.column_config.NumberColumn("by age (days)", format="%g"),
            "curve": "by the curve (%)",
            "curve_interval": "95 % interval (%) ",
            **({} if shown.row("fit") is None else fitted),
            "n_failed": "failures",
            "n_at_risk": "at risk",
            "note": "note",
        },
        key=f"{PAGE}_shares",
        what="Shares of units failed by given ages, by curve and fit, with intervals",
    )
    shown.offer("shares")


def _share_row(row: Row) -> Row:
    names = ("failed", "low", "high", "curve_failed", "curve_low", "curve_high")
    shares = percents(row, *names)
    return row | {
        "curve": "not seen"
        if row["extrapolated"]
        else text.estimate(number(shares, "curve_failed")),
        "curve_interval": span(shares, "curve_low", "curve_high"),
        "fit": text.estimate(number(shares, "failed")),
        "fit_interval": span(shares),
        "note": "extrapolated" if row["extrapolated"] else "",
    }
