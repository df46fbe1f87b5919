"""Failure modes, the groups: rates at like age, and returns per 1 000 shipped."""

from collections.abc import Mapping
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing.charts import SHOWN_BARS
from dashboard.drawing.charts_modes import NOT_RECORDED, groups_chart
from dashboard.drawing.pictures import Picture
from dashboard.page_parts import widgets
from dashboard.page_parts.filter_widgets import labels_of
from dashboard.page_parts.modes_shown import (
    PAGE,
    Counted,
    Rows,
    decimal,
    draw,
    estimate,
    finite,
    number,
    p_value,
    span,
)
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_words import ratio_words

WHOLE = 0.995  # less of the fleet's ages lived is said


def show_groups(counted: Counted) -> None:
    """Show the groups of one kind side by side, closed until opened."""
    groups = cast("Mapping[str, Rows]", counted.answer.more["groups"])
    known = [name for name, rows in groups.items() if rows]
    if not known:
        return
    with st.expander("Do some groups fail more often than units of like age?"):
        by = st.selectbox(
            "Groups by", known, format_func=text.words, key=f"{PAGE}_groups_by"
        )
        rows = _labelled(by, groups[by])
        st.markdown(f"**{widgets.as_typed(groups_sentence(by, rows))}**")
        st.markdown(
            "A group is associated with more failures, never shown to cause them. "
            + widgets.as_typed(str(counted.row("rate_basis")["sentence"]))
        )
        picture = groups_picture(by, rows)
        st.markdown(f"**{picture.title}**")
        draw(
            picture,
            key="groups_chart",
            seen="Dots: rate of each group at like age; the table holds the numbers",
        )
        _show_table(by, rows)
        counted.offer(f"by-{by.replace('_', '-')}", picture=picture)


def _labelled(by: str, rows: Rows) -> Rows:
    label = labels_of(by)
    return [
        row if row["value"] is None else row | {"value": label(str(row["value"]))}
        for row in rows
    ]


def groups_sentence(by: str, rows: Rows) -> str:
    """Return which groups clearly fail more often, or less, than is expected."""
    found = [row for row in rows if row["is_unusual"]]
    kind = text.words(by)
    if not found:
        return (
            f"No {kind} clearly fails more or less often than units of like age "
            f"({text.counted(len(rows), 'group')} compared)."
        )
    first = found[0]
    name = first["value"] or NOT_RECORDED
    more = f" {text.counted(len(found) - 1, 'further group')}." if found[1:] else ""
    beside = "the others" if first["compared_with"] == "others" else "all units"
    return (
        f"Clearly different from units of like age: {kind} {name}, "
        f"{text.counted(cast('int', first['n_compared']), 'failure')} where "
        f"{estimate(first, 'expected')} were expected from {beside} (ratio "
        f"{ratio_words(_ratio(first))}).{more}"
    )


def _ratio(row: Row) -> Row:
    return {"ratio": row["ratio"], "low": row["ratio_low"], "high": row["ratio_high"]}


def groups_picture(by: str, rows: Rows) -> Picture:
    """Return the groups of one kind as a picture, with how to read it."""
    n_shown = min(len(rows), SHOWN_BARS)
    some = f" (the {n_shown} highest)" if len(rows) > n_shown else ""
    return Picture(
        groups_chart(rows),
        f"Failures per 1 000 units in service and year, by {text.words(by)}{some}",
        "Dots with lines: at like age, 95 % interval. Rings: as counted, ages not made "
        "equal. Highest first by observed over expected, drawn towards 1 where few "
        "failures are expected: else the luckiest and unluckiest would lead.",
    )


def _show_table(by: str, rows: Rows) -> None:
    widgets.show_table(
        [
            row
            | {
                "value": row["value"] or NOT_RECORDED,
                "interval": span(row),
                "covered": _covered(row),
                "ratio": finite(row, "ratio"),
                "ratio_interval": span(row, "ratio_low", "ratio_high"),
                "p": p_value(row),
            }
            for row in rows
        ],
        {
            "value": text.words(by),
            "n_units": "units",
            "unit_years": decimal("unit-years", 0),
            "n_failures": "failures",
            "crude": decimal("per 1 000 and year, as counted"),
            "standardised": decimal("at like age"),
            "interval": "95 % interval",
            "covered": "ages lived",
            "expected": decimal("expected failures", 1),
            "ratio": decimal("observed / expected"),
            "ratio_interval": "95 % interval of it",
            "level": decimal("drawn towards 1"),
            "p": "adjusted p",
        },
        key=f"{PAGE}_groups",
        what="Groups with units, failures, rates at like age, ratio and intervals",
    )


def _covered(row: Row) -> str:
    covered = number(row, "covered")
    return "all" if covered >= WHOLE else f"{100 * covered:.0f} % of all"


def show_shipped(counted: Counted) -> None:
    """Show cases per 1 000 shipped where the register does not hold the units."""
    rows = [row for row in counted.rows("shipped") if row["rate"] is not None]
    n_rest = len(counted.rows("shipped")) - len(rows)
    if not rows:
        return
    with st.expander("Returns per 1 000 shipped, where units are not in the register"):
        st.markdown(
            "No time in service is behind these: a lot shipped lately looks better "
            f"than it is. {text.counted(n_rest, 'further row')} of the shipments: the "
            "register holds the units, or no return can be told to be of them."
        )
        widgets.show_table(
            [
                row | {"shown": estimate(row, "rate"), "interval": span(row)}
                for row in rows
            ],
            {
                "model": "model",
                "lot": "lot",
                "n_shipped": "shipped",
                "n_registered": "in the register",
                "n_cases": "returns",
                "n_failures": "of these confirmed failures",
                "rate": decimal("returns per 1 000 shipped"),
                "interval": "95 % interval",
                "basis": "why per shipped",
            },
            key=f"{PAGE}_shipped",
            what="Returns per 1 000 units shipped, by model and lot, with intervals",
        )
        counted.offer("shipped")
