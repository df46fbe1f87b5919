"""Time to failure: two groups of units side by side."""

from bisect import bisect_left
from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from dashboard import charts_ages, text, widgets
from dashboard.charts_life import age_marks
from dashboard.lives_asked import PAGE, choose_groups
from dashboard.lives_shown import Shown, chart, number, percents, span
from dashboard.pictures import Picture
from dashboard.queries.answer import Row
from ingest.errors import UserError

SMALLEST_P = 0.0001


def show_groups(
    snapshot: Snapshot,
    shown: Shown,
    refused: InsufficientDataError | UserError | None,
) -> None:
    """Show the choice of two groups and how they compare.

    Parameters
    ----------
    snapshot : Snapshot
    shown : Shown
    refused : InsufficientDataError or UserError or None
        Why the groups asked for cannot be compared.
    """
    st.subheader("Do two groups of units fail alike?")
    choose_groups(snapshot, shown.words)
    comparison = shown.row("comparison")
    if isinstance(refused, InsufficientDataError):
        widgets.tell_too_few(refused)
    elif refused is not None:
        st.error(widgets.as_typed(refused.message))
        st.markdown(widgets.as_typed(refused.hint))
    elif comparison is None:
        st.caption("Choose what tells the groups apart, such as model or lot.")
    else:
        _show(shown, comparison)


def _show(shown: Shown, comparison: Row) -> None:
    sentence = widgets.as_typed(str(comparison["sentence"]))
    st.markdown(f"**{sentence}**")
    picture = groups_picture(shown, comparison)
    chart(
        picture,
        key="groups_chart",
        seen="Share of units failed by age, one curve for each of two groups",
    )
    _show_at_risk(comparison)
    shown.offer("groups", picture=picture)
    _show_sizes(comparison)
    _show_tests(comparison)


def groups_picture(shown: Shown, comparison: Row) -> Picture:
    """Return two groups as a picture, with how to read it."""
    by = text.words(str(comparison["by"]))
    beside = ", if no other failure existed" if shown.is_part else ""
    return Picture(
        charts_ages.groups_chart(shown.answer),
        f"Units failed by age, by {by}{beside}",
        "Bands: 95 % intervals at each age. Where they overlap the test decides, not "
        "the eye.",
    )


def at_risk(comparison: Row) -> list[Row]:
    """Return units at risk in each group, at the first failure from each mark on."""
    rows = cast("Sequence[Row]", comparison["rows"])
    oldest = max(number(row, "age_days") for row in rows)
    names = [str(group["group"]) for group in _groups(comparison)]
    found: list[Row] = []
    for name in names:
        own = [row for row in rows if row["group"] == name]
        ages = [number(row, "age_days") for row in own]
        # Ages are listed where units failed: the count is that of the next failure.
        line: Row = {"group": name}
        for mark in age_marks(oldest):
            at = bisect_left(ages, mark)
            line[f"{mark}"] = own[at]["n_at_risk"] if at < len(own) else 0
        found.append(line)
    return found


def _groups(comparison: Row) -> Sequence[Row]:
    return cast("Sequence[Row]", comparison["groups"])


def _show_at_risk(comparison: Row) -> None:
    rows = at_risk(comparison)
    marks = [name for name in rows[0] if name != "group"]
    st.markdown("Units at risk, at the first failure from each age on (days)")
    widgets.show_table(
        rows,
        {"group": "group"} | {mark: text.count(int(mark)) for mark in marks},
        key=f"{PAGE}_at_risk",
        what="Units at risk in each group by age in days",
    )


def _show_sizes(comparison: Row) -> None:
    rows = []
    for group in _groups(comparison):
        shares = percents(
            group, "failed_first_year", "first_year_low", "first_year_high"
        )
        rows.append(
            group
            | {
                "first_year": text.estimate(number(shares, "failed_first_year")),
                "first_interval": span(shares, "first_year_low", "first_year_high"),
                "median": text.estimate(number(group, "median_days")),
                "median_interval": span(group, "median_low", "median_high"),
            }
        )
    widgets.show_table(
        rows,
        {
            "group": "group",
            "n_units": "units",
            "n_failed": "failures",
            "first_year": "failed in the first year (%)",
            "first_interval": "95 % interval (%)",
            "median": "half failed by (days)",
            "median_interval": "95 % interval (days)",
        },
        key=f"{PAGE}_groups",
        what="Units, failures and share failed in the first year of each group",
    )


def _show_tests(comparison: Row) -> None:
    rows = [
        {
            "test": row["test"],
            "what": row["what"],
            "statistic": f"{number(row, 'statistic'):.2f}",
            "degrees_of_freedom": row["degrees_of_freedom"],
            "p_value": _p(number(row, "p_value")),
        }
        for row in cast("Sequence[Row]", comparison["tests"])
    ]
    widgets.show_table(
        rows,
        {
            "test": "test",
            "what": st.column_config.TextColumn("of what", width="large"),
            "statistic": "chi-square",
            "degrees_of_freedom": "degrees of freedom",
            "p_value": "p",
        },
        key=f"{PAGE}_tests",
        what="Tests of whether the two groups fail alike",
    )


def _p(value: float) -> str:
    return "under 0.0001" if value < SMALLEST_P else f"{value:.2g}"
