"""Page: which failures were confirmed, and how often."""

from typing import cast

import streamlit as st

from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.drawing import charts
from dashboard.filters import Filters
from dashboard.page_parts import widgets
from dashboard.page_parts.filter_widgets import chosen_filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.modes import modes

PAGE = "modes"
NAMED = 3  # non-failures named in the sentence beside the chart


@st.cache_data(max_entries=widgets.REMEMBERED, show_spinner="Counting failures")
def ask(snapshot: str, filters: str, _snapshot: Snapshot, _filters: Filters) -> Answer:
    """Return the answer, once for each snapshot and choice."""
    del snapshot, filters  # they are the key
    return modes(_snapshot, _filters)


def body(snapshot: Snapshot) -> None:
    """Show the answer to the question."""
    widgets.tell_basis(snapshot.about)
    filters = chosen_filters(PAGE, snapshot, days="Day of receipt")
    key = filters.model_dump_json()
    answer = ask(snapshot.about.snapshot, key, snapshot, filters)
    failures = [row for row in answer.rows if row["is_failure"]]
    others = [row for row in answer.rows if not row["is_failure"]]
    if not answer.more["n_received"]:
        st.info("No return is left under these filters.")
        st.markdown("Leave a filter out, or choose an earlier first day.")
        return
    if failures:
        widgets.tell_answer(_answer(failures))
    else:
        st.info("No failure of a unit is confirmed among these returns yet.")
    st.markdown(_apart(answer, others))
    if failures:
        _show_chart(failures)
    if answer.rows:
        _show_table(answer)
        widgets.offer_files(PAGE, answer, words=filters.stated())
    _tell_left_out(answer)


def _answer(failures: list[Row]) -> str:
    first = failures[0]
    n = cast("int", first["n_confirmed"])
    share = text.share(cast("float", first["share"]), n)
    limits = text.share_interval(
        cast("float", first["low"]), cast("float", first["high"]), n
    )
    return (
        f"Most often: {first['label']}, {text.count(cast('int', first['n_cases']))} of "
        f"{text.count(n)} confirmed cases ({share}, 95 % interval {limits})."
    )


def _apart(answer: Answer, others: list[Row]) -> str:
    more = {name: cast("int", value) for name, value in answer.more.items()}
    n_others = more["n_confirmed"] - more["n_failures"]
    parts = [
        f"{row['label']} {text.count(cast('int', row['n_cases']))}"
        for row in others[:NAMED]
    ]
    named = f" ({', '.join(parts)})" if parts else ""
    return (
        f"Returns: {text.count(more['n_received'])}, of these confirmed as a failure "
        f"of the unit {text.count(more['n_failures'])}, confirmed as no failure of it "
        f"{text.count(n_others)}{named}, open {text.count(more['n_open'])}."
    )


def _show_chart(failures: list[Row]) -> None:
    n_shown = min(len(failures), charts.SHOWN_BARS)
    of_all = f" {n_shown} commonest" if len(failures) > n_shown else ""
    st.subheader(f"The{of_all} failure modes, with 95 % intervals and counts")
    st.altair_chart(
        charts.modes_chart(failures),
        key=f"{PAGE}_chart",
        alt="Bars: share of each failure mode; the table below holds the numbers",
    )
    if any(row["severity"] == "critical" for row in failures[:n_shown]):
        st.caption("Critical: the failure can hurt someone.")


def _show_table(answer: Answer) -> None:
    rows = [
        row
        | {name: 100 * cast("float", row[name]) for name in ("share", "low", "high")}
        | {"component": text.words(str(row["component"]))}
        | {"counts_as": "failure" if row["is_failure"] else "no failure of the unit"}
        for row in answer.rows
    ]
    widgets.show_table(
        rows,
        {
            "label": "failure mode",
            "component": "component",
            "severity": "severity",
            "counts_as": "counts as",
            "n_cases": "cases",
            "share": widgets.percent("share (%)"),
            "low": widgets.percent("95 % from (%)"),
            "high": widgets.percent("to (%)"),
        },
        key=f"{PAGE}_table",
        what="Confirmed failure modes with counts, shares and intervals",
    )


def _tell_left_out(answer: Answer) -> None:
    more = {name: text.count(cast("int", n)) for name, n in answer.more.items()}
    widgets.tell_left_out(
        [
            answer.method,
            f"Open, so without a confirmed mode: {more['n_open']} cases.",
            f"Returns of units that were here before: {more['n_repeats']}, counted.",
            (
                f"Returns of units not in the register: {more['n_unknown_serial']}, "
                "counted; under a filter of units they are left out."
            ),
            (
                "A share says how often a mode was found among returns, not how often "
                "units in the field have it."
            ),
        ]
    )


widgets.show_page("Which failures were confirmed, and how often?", body)
