"""Recurring failures: young lots, returns after a repair, and what is not watched."""

from collections.abc import Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.watch_list import open_alarm
from dashboard.page_parts.watch_shown import (
    EXPECTED,
    HIGH,
    LOW,
    PAGE,
    RATIO,
    Watched,
    estimate,
    span,
)
from dashboard.page_parts.widgets import as_typed, percent
from dashboard.queries.answer import Row

SHOWN_PAST = 10
SHOWN_YOUNG = 3  # in the sentence beside the alarms; the table holds all
NOT_RECORDED = "not recorded"


def show_early(shown: Watched) -> None:
    """Show lots younger than six months against the same ages of older lots."""
    st.header("Do young lots fail early?")
    rows = shown.rows("early")
    if not rows:
        st.markdown("No lot is younger than six months.")
        return
    st.markdown(as_typed(_early_sentence(rows, shown.young)))
    widgets.show_table(
        [
            row
            | {
                "lot": row["lot"] or NOT_RECORDED,
                "model": row["model"] or NOT_RECORDED,
                "stands": _stands(row),
                "p": _p(row),
            }
            for row in rows
        ],
        {
            "model": "model",
            "lot": "lot",
            "stands": "reads",
            "n_units": "units",
            "n_failed": "failed",
            "expected": EXPECTED,
            "ratio": RATIO,
            "low": LOW,
            "high": HIGH,
            "p": "p, adjusted",
        },
        key=f"{PAGE}_early",
        what="Lots younger than six months with failures, expected, ratio and interval",
    )
    st.caption(
        "Expected: from older lots at the same ages. Adjusted for the number of lots "
        "asked about at once."
    )
    shown.offer("early")


def _stands(row: Row) -> str:
    if row["is_raised"]:
        return "stands out"
    return "nothing to compare" if row["adjusted_p"] is None else "like others"


def tell_young(shown: Watched) -> None:
    """Write beside the alarms which young lots stand out: none may show them yet."""
    found = shown.young
    if not found:
        return
    named = "; ".join(_lot_words(row) for row in found[:SHOWN_YOUNG])
    more = len(found) - SHOWN_YOUNG
    beside = f"; and {text.count(more)} more, listed below" if more > 0 else ""
    one = len(found) == 1
    sentence = (
        f"{text.counted(len(found), 'young lot')} {'fails' if one else 'fail'} more "
        "often than older lots did at the same ages, which an alarm may not show yet: "
        f"{named}{beside}."
    )
    st.markdown(as_typed(sentence))


def _early_sentence(rows: Sequence[Row], raised: Sequence[Row]) -> str:
    asked = f"{text.counted(len(rows), 'lot')} younger than six months"
    if all(row["adjusted_p"] is None for row in rows):
        return (
            f"{asked}: nothing to compare yet, neither they nor older lots failed at "
            "the ages that both have lived."
        )
    if not raised:
        return f"{asked}: none stands out against older lots at the same ages."
    return (
        f"{asked}: {text.count(len(raised))} above older lots at the same ages, most "
        f"of all {_lot_words(raised[0])}."
    )


def _lot_words(row: Row) -> str:
    model, lot = (row[name] or f"{name} not recorded" for name in ("model", "lot"))
    ratio = row["ratio"] is not None and f"ratio {estimate(row, 'ratio')}, "
    return (
        f"{model} {lot}, {text.counted(cast('int', row['n_failed']), 'failure')} where "
        f"{estimate(row, 'expected')} were expected ({ratio or 'ratio of rates: '}"
        f"95 % interval {span(row)})"
    )


def _p(row: Row) -> str:
    value = cast("float | None", row["adjusted_p"])
    return "" if value is None else text.p_value(value)


def show_repeats(shown: Watched) -> None:
    """Show which repairs units come back from within 90 days."""
    st.header("Which units come back within 90 days of a repair?")
    rows = shown.rows("repeats")
    if not rows:
        under = shown.answer.filters.under
        st.markdown(f"No repair of a confirmed failure is closed{under}.")
        return
    names = ("share", "low", "high", "share_by_curve")
    widgets.show_table(
        [
            row
            | {"kind_of_repair": text.words(str(row["kind_of_repair"] or "all"))}
            | {
                name: None if row[name] is None else 100 * cast("float", row[name])
                for name in names
            }
            for row in rows
        ],
        {
            "label": st.column_config.TextColumn("repaired for", width="medium"),
            "kind_of_repair": "kind of repair",
            "n_repairs": "repairs",
            "n_followed": "followed 90 days",
            "n_back": "came back",
            "n_same": "with the same mode",
            "share": percent("share (%)"),
            "low": percent("95 % from (%)"),
            "high": percent("to (%)"),
            "share_by_curve": percent("by the curve (%)"),
            "said": "remark",
        },
        key=f"{PAGE}_repeats",
        what="Repairs by mode and kind, with how many units came back within 90 days",
    )
    st.caption(
        "Share: of the repairs followed for 90 days. By the curve: of all repairs, "
        "younger ones counted for as long as they were followed. Harder faults come "
        "back more often, whoever repairs them."
    )
    shown.offer("repeats")


def show_thin(shown: Watched) -> None:
    """Show the groups too small for a doubling to be noticed within a year."""
    st.header("Not enough data to watch")
    rows = shown.rows("thin")
    if not rows:
        st.markdown("A doubling would probably be noticed in every group.")
        return
    n = text.counted(len(rows), "group")
    st.markdown(
        f"In {n} a doubling would probably not be noticed within a year. A group with "
        "no alarm here is not shown to be quiet."
    )
    widgets.show_table(
        rows,
        {
            "failure": st.column_config.TextColumn("failure", width="medium"),
            "where": "where",
            "n_failures": "failures so far",
            "expected_year": st.column_config.NumberColumn(
                "expected a year", format="%.1f"
            ),
            "enough": st.column_config.TextColumn(
                "what would be enough", width="medium"
            ),
        },
        key=f"{PAGE}_thin",
        what="Groups too small to watch, with failures expected a year and what would "
        "be enough",
    )
    shown.offer("thin")


def show_past(shown: Watched) -> None:
    """Show alarms that are closed or older than 12 months."""
    st.header("Past alarms")
    rows = shown.rows("past")
    if not rows:
        st.markdown("None is closed or older than 12 months.")
        return
    for row in rows[:SHOWN_PAST]:
        open_alarm(row)
    widgets.show_table(
        [row | {"state": text.words(str(row["state"]))} for row in rows],
        {
            "alarm": "alarm",
            "alarmed": "alarm in",
            "failure": st.column_config.TextColumn("failure", width="medium"),
            "where": "where",
            "state": "state",
            "n_cases": "cases",
            "expected": EXPECTED,
            "ratio": RATIO,
            "low": LOW,
            "high": HIGH,
            "note": "last note",
        },
        key=f"{PAGE}_past",
        what="Past alarms with cases, expected, ratio, interval and last note",
    )
    shown.offer("past")
