"""Failure modes, what goes together with them, and whether repairs last."""

from collections.abc import Mapping
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.links import href
from dashboard.page_parts.modes_shown import (
    PAGE,
    Counted,
    Rows,
    count,
    decimal,
    number,
    p_value,
    span,
)
from dashboard.queries.answer import Row
from dashboard.queries.frequencies_parts import PAIR_NAMES
from ingest import catalogue

SHOWN = 100  # pairs in the table of the page; the files hold all
FILTERS = ("cable_supplier", "environment")  # a symptom chooses no cases
REASONS = {
    "not_closed": "not closed yet",
    "scrapped": "scrapped",
    "unit_replaced": "another unit was sent",
}


def show_pairs(counted: Counted) -> None:
    """Show modes against symptoms, suppliers or environments, closed until opened."""
    pairs = cast("Mapping[str, Rows]", counted.answer.more["pairs"])
    known = [name for name, rows in pairs.items() if rows]
    if not known:
        return
    with st.expander("Which modes go together with a symptom, a supplier, a place?"):
        by = st.selectbox(
            "Modes against", known, format_func=text.words, key=f"{PAGE}_pairs_by"
        )
        tests = [row for row in counted.rows("tests") if row["dimension"] == by]
        st.markdown(f"**{widgets.as_typed(pairs_sentence(by, pairs[by], tests))}**")
        st.caption(
            "Association only: shares among returns, not rates of units in the field. "
            "Adjusted p: over all pairs of the table (Benjamini and Hochberg); at most "
            "0.05 counts as unusual. Small: fewer than 5 cases expected, so that one "
            "case more or less changes much."
        )
        _show_table(counted, by, pairs[by])
        counted.offer(f"and-{PAIR_NAMES[by]}")
        if tests:
            _show_tests(counted, by, tests)


def pairs_sentence(by: str, rows: Rows, tests: Rows) -> str:
    """Return how many pairs are unusual, and what the test of all says."""
    n_unusual = sum(bool(row["is_unusual"]) for row in rows)
    kind = text.words(by)
    if not tests:
        return f"Too little to compare: fewer than two modes or two values of {kind}."
    n, n_without = (
        text.count(count(tests[0], name)) for name in ("n_cases", "n_not_recorded")
    )
    basis = f"{n} confirmed cases with a {kind} on record, {n_without} without"
    found = (
        f"{text.counted(n_unusual, 'pair')} of {text.count(len(rows))} clearly more or "
        "less common than by chance"
        if n_unusual
        else f"No pair of {text.count(len(rows))} clearly more or less common than by "
        "chance"
    )
    if by == "symptom":
        return f"{found} ({basis})."
    whole = tests[0]
    p = text.p_value(number(whole, "p_value"))
    return f"{found}; all together p {p}, {whole['method']} ({basis})."


def _show_table(counted: Counted, by: str, rows: Rows) -> None:
    stated = counted.answer.filters.stated()
    behind = "cases behind" if by in FILTERS else "cases of the mode"
    links = {"cases": st.column_config.LinkColumn(behind, display_text="open")}
    widgets.show_table(
        [_pair(row, by, stated) for row in rows[:SHOWN]],
        {
            "label": st.column_config.TextColumn("failure mode", width="medium"),
            "value_label": text.words(by),
            "n_cases": "cases",
            "expected": decimal("expected by chance"),
            "residual": st.column_config.NumberColumn("residual", format="%+.1f"),
            "p": "adjusted p",
            "is": "which is",
            "size": "cell",
            **links,
        },
        key=f"{PAGE}_pairs",
        what=f"Modes by {text.words(by)}: cases, expected cases, adjusted residuals",
    )
    if len(rows) > SHOWN:
        st.markdown(
            f"The {text.count(SHOWN)} pairs furthest from chance; the files hold all."
        )


def _pair(row: Row, by: str, stated: Mapping[str, object]) -> Row:
    words = dict(stated) | {"mode": row["mode"]}
    if by in FILTERS:
        words |= {by: row["value"]}
    said = "as by chance"
    if row["is_unusual"]:
        said = "more common" if number(row, "residual") > 0 else "less common"
    return row | {
        "p": p_value(row),
        "is": said,
        "size": "small" if row["is_small"] else "",
        "cases": href("cases", words),
    }


def _show_tests(counted: Counted, by: str, tests: Rows) -> None:
    st.markdown(
        "**Each symptom by itself: told or not, by mode**"
        if by == "symptom"
        else "**The table as a whole**"
    )
    widgets.show_table(
        [
            row
            | {
                "what": row["value_label"] or f"mode by {text.words(by)}",
                "p": p_value(row, "p_value"),
                "adjusted": p_value(row),
                "small": f"{row['n_small']} of {row['n_cells']}",
            }
            for row in tests
        ],
        {
            "what": "test of",
            "n_cases": "cases",
            "statistic": decimal("chi-square", 1),
            "degrees_of_freedom": "degrees of freedom",
            "small": "small cells",
            "method": "p by",
            "p": "p",
            "adjusted": "adjusted p",
        },
        key=f"{PAGE}_tests",
        what="Tests of whether modes and what else is known go together",
    )
    counted.offer("tests")


def show_repeats(counted: Counted) -> None:
    """Show how many repairs came back within 90 days, closed until opened."""
    found = counted.row("repeats")
    with st.expander("Do repairs last? Units back within 90 days"):
        st.markdown(f"**{found['sentence']}**")
        left_out = cast("Mapping[str, int]", found["left_out"])
        if left_out:
            named = ", ".join(
                f"{REASONS.get(reason, reason)} {text.count(n)}"
                for reason, n in left_out.items()
            )
            st.markdown(
                f"Confirmed cases that are no repair of a unit in use: {named}."
            )
        rows = cast("Rows", found["rows"])
        if not rows:
            return
        kinds = catalogue.codes("dispositions")
        widgets.show_table(
            [
                row
                | {
                    "kind": kinds[str(row["kind_of_repair"])].label
                    if row["kind_of_repair"] in kinds
                    else row["kind_of_repair"] or "any",
                    "back": _percent(row, "share"),
                    "interval": _percents(row, "low", "high"),
                    "by_curve": _percent(row, "share_by_curve"),
                    "curve_interval": _percents(row, "curve_low", "curve_high"),
                    "said": row["said"] or "",
                }
                for row in rows
            ],
            {
                "label": st.column_config.TextColumn("repaired for", width="medium"),
                "kind": "kind of repair",
                "n_repairs": "repairs",
                "n_followed": "followed 90 days",
                "n_back": "of these back",
                "n_same": "with the same mode",
                "back": "share back (%)",
                "interval": "95 % interval (%)",
                "by_curve": "with younger repairs (%)",
                "curve_interval": "its 95 % interval (%)",
                "said": "note",
            },
            key=f"{PAGE}_repeats",
            what="Repairs followed for 90 days and how many units came back, by mode",
        )
        counted.offer("repeats")


def _percent(row: Row, name: str) -> str:
    return "" if row[name] is None else text.estimate(100 * number(row, name))


def _percents(row: Row, low: str, high: str) -> str:
    if row[low] is None or row[high] is None:
        return ""
    shown = {name: 100 * number(row, name) for name in (low, high)}
    return span(dict(shown), low, high)
