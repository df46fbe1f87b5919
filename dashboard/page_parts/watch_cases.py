"""Recurring failures: what the cases of one alarm share, and the cases themselves."""

import streamlit as st

from dashboard import text
from dashboard.page_parts import widgets
from dashboard.page_parts.links import href
from dashboard.page_parts.watch_shown import (
    EXPECTED,
    HIGH,
    LOW,
    PAGE,
    RATIO,
    Watched,
    number,
)
from dashboard.page_parts.widgets import as_typed
from dashboard.queries.answer import Row

NOT_RECORDED = "not recorded"
DIMENSIONS = {"production_lot": "lot"}


def show_shared(shown: Watched, row: Row) -> None:
    """Show what else the cases share: the words, and the comparison behind them."""
    st.header("What else the cases share")
    st.markdown(as_typed(str(row["explanation"])))
    alarm = str(row["alarm"])
    rows = shown.of("comparison", alarm)
    if not rows:
        return
    widgets.show_table(
        [
            compared
            | {
                "dimension": _dimension(compared),
                "value": compared["value"] or NOT_RECORDED,
                "told": _told(compared),
            }
            for compared in rows
        ],
        {
            "dimension": "by",
            "value": "value",
            "told": "how well",
            "n_cases": "cases",
            "expected": EXPECTED,
            "n_rest": "cases of the others",
            "expected_rest": st.column_config.NumberColumn(
                "expected of the others", format="%.1f"
            ),
            "ratio": st.column_config.NumberColumn(
                "ratio to the others", format="%.2f"
            ),
            "low": LOW,
            "high": HIGH,
        },
        key=f"{PAGE}_comparison",
        what="For each kind of group the value that goes with the excess most, with "
        "cases and expected there and among all others",
    )
    shown.offer("comparison", alarm=alarm)


def _told(row: Row) -> str:
    if not row["is_best"]:
        return ""
    is_clear = (number(row, "gain") or 0) > 0
    return "explains it best" if is_clear else "goes with it most, weakly"


def _dimension(row: Row) -> str:
    name = str(row["dimension"])
    return DIMENSIONS.get(name, text.words(name))


def show_lots(shown: Watched, row: Row) -> None:
    """Show the lots under an alarm of a model: one of them may be behind it."""
    alarm = str(row["alarm"])
    rows = shown.of("lots", alarm)
    if not rows:
        return
    st.header("Lots of this model")
    st.caption(
        "A lot is often a large part of its model: an excess of one lot may show as "
        "one of the model. Ratio: to the other lots of the model, from the month in "
        "which the excess began."
    )
    widgets.show_table(
        [lot | {"lot": lot["lot"] or NOT_RECORDED} for lot in rows],
        {
            "lot": "lot",
            "n_cases": "cases",
            "expected": EXPECTED,
            "ratio": RATIO,
            "low": LOW,
            "high": HIGH,
        },
        key=f"{PAGE}_lots",
        what="Lots of the model with cases, expected and ratio to its other lots",
    )
    shown.offer("lots", alarm=alarm)


def show_cases(shown: Watched, row: Row) -> None:
    """Show the cases of an alarm, each with a link to its return."""
    alarm = str(row["alarm"])
    rows = shown.of("cases", alarm)
    n_after = sum(bool(case.get("is_after")) for case in rows)
    st.header(f"The cases: {text.count(len(rows))}")
    after = f", {text.count(n_after)} of them after the alarm" if n_after else ""
    st.caption(
        "First confirmed failures of this group in the months of the alarm and after"
        f"{after}."
    )
    widgets.show_table(
        [
            case
            | {
                "link": href("case", {"case_id": case["case_id"]}),
                "unit": href("unit", {"serial": case["serial"]}),
                "counted": "after the alarm" if case.get("is_after") else "in it",
            }
            for case in rows
        ],
        {
            "link": st.column_config.LinkColumn(
                "return", display_text=r"case_id=([^&]*)"
            ),
            "unit": st.column_config.LinkColumn("unit", display_text=r"serial=([^&]*)"),
            "failed_on": "failed on",
            "received_on": "received on",
            "label": st.column_config.TextColumn("confirmed as", width="medium"),
            "counted": "counted",
            "model": "model",
            "lot": "lot",
            "cable_supplier": "cable supplier",
            "hardware_revision": "hardware revision",
            "region": "region",
            "site": "site",
        },
        key=f"{PAGE}_cases",
        what="Cases of the alarm, each with a link to the return and to its unit",
    )
    shown.offer("cases", alarm=alarm)
