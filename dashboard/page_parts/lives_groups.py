"""Time to failure: two groups of units side by side."""

import math
from collections.abc import Sequence
from typing import cast

import streamlit as st

from analytics.errors import InsufficientDataError
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.drawing import charts_ages
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.lives_asked import PAGE, choose_groups
from dashboard.page_parts.lives_shown import Shown, chart, number, percents, span
from dashboard.queries.answer import Row
from ingest.errors import UserError


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
    st.header("Do two groups of units fail alike?")
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
    shown.offer("groups", picture=picture)
    _show_shares(comparison)
    shown.offer("group-shares")
    _show_sizes(comparison)
    shown.offer("group-sizes")
    _show_tests(comparison)
    shown.offer("group-tests")


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


def _groups(comparison: Row) -> Sequence[Row]:
    return cast("Sequence[Row]", comparison["groups"])


def _show_shares(comparison: Row) -> None:
    rows = [
        _share_row(percents(row, "failed", "low", "high"))
        for row in cast("Sequence[Row]", comparison["shares"])
    ]
    widgets.show_table(
        rows,
        {
            "group": "group",
            "age_days": "by age (days)",
            "share": "failed (%)",
            "interval": "95 % interval (%)",
            "n_at_risk": "units at risk",
            "n_failed": "failures",
        },
        key=f"{PAGE}_group_shares",
        what="Share failed and units at risk in each group by given ages",
    )


def _share_row(row: Row) -> Row:
    return row | {
        "share": "not seen"
        if math.isnan(number(row, "failed"))
        else text.estimate(number(row, "failed")),
        "interval": span(row),
    }


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
            "p_value": text.p_value(number(row, "p_value")),
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
