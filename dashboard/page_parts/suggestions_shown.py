"""The report about suggestions: sentences, charts and tables."""

from collections.abc import Callable, Mapping, Sequence
from typing import cast

import streamlit as st

from dashboard import text
from dashboard.drawing import pictures
from dashboard.drawing.charts import Chart
from dashboard.drawing.charts_suggestions import calibration_chart, coverage_chart
from dashboard.page_parts import widgets
from dashboard.page_parts.ink import show_chart
from dashboard.queries.answer import Answer, Row
from dashboard.queries.suggestion_report_parts import part

PAGE = "suggestions"
OF = {"suggester": "suggester", "class_shares": "how often each mode occurs"}


def tell_answer(answer: Answer) -> None:
    """Write how often the mode was named, and what one should keep in mind."""
    widgets.tell_answer(str(answer.more["sentence"]))
    st.markdown(str(answer.more["answered_sentence"]))
    st.markdown("\n".join(f"- {note}" for note in _texts(answer, "notes")))


def show_measures(answer: Answer) -> None:
    """Show the scores beside those of class shares."""
    st.header("Beside how often each mode occurs")
    rows = [_measure(row) for row in answer.rows]
    widgets.show_table(
        rows,
        {
            "label": st.column_config.TextColumn("measure", width="medium"),
            "of": "of",
            "value": "value",
            "interval": "95 % interval",
            "n": "cases",
            "n_of": "of cases",
        },
        key=f"{PAGE}_measures",
        what="Scores of the suggester and of class shares, with intervals and counts",
    )
    widgets.offer_files(PAGE, answer, words={})


def show_calibration(answer: Answer) -> None:
    """Show the share right against the confidence."""
    st.header("Can the shares be read as they are?")
    st.markdown(str(answer.more["calibration_sentence"]))
    _show(
        answer,
        "calibration",
        calibration_chart,
        title="Share right by the share the first suggestion was given",
        seen="Points: share right by confidence, with 95 % intervals and counts; the "
        "table below holds the numbers",
        columns={
            "from": "given from (%)",
            "to": "to (%)",
            "n_cases": "cases",
            "mean_confidence": "mean given (%)",
            "n_right": "right",
            "share": "share right (%)",
            "low": "95 % from (%)",
            "high": "to (%)",
        },
    )


def show_coverage(answer: Answer) -> None:
    """Show how often answers are wrong if only the surest cases are answered."""
    st.header("What does staying silent save?")
    _show(
        answer,
        "coverage",
        coverage_chart,
        title="Share wrong if only the surest cases are answered",
        seen="Line with band: share wrong by share of cases answered; the table below "
        "holds the numbers",
        columns={
            "coverage": "answered (%)",
            "n_answered": "cases answered",
            "least_confidence": "least given (%)",
            "n_wrong": "wrong",
            "error": "share wrong (%)",
            "low": "95 % from (%)",
            "high": "to (%)",
        },
    )


def show_modes(answer: Answer) -> None:
    """Show how the cases of each confirmed mode fared."""
    st.header("Which modes does it find?")
    st.markdown(
        "Modes with few cases have wide intervals: their order says little. A mode "
        "named first more often than it was confirmed draws other cases to itself."
    )
    _show_table(
        part(answer, "modes").rows,
        "modes",
        {
            "label": "confirmed mode",
            "n_cases": "cases",
            "n_right": "named first",
            "share": "share (%)",
            "low": "95 % from (%)",
            "high": "to (%)",
            "n_in_top_3": "among three",
            "mean_probability": "mean share given (%)",
            "n_named": "named first for any case",
        },
        what="Scored cases by confirmed mode, with shares, intervals and counts",
    )
    _offer(answer, "modes")


def show_months(answer: Answer) -> None:
    """Show the share without a confirmed mode, and the share right, by month."""
    st.header("How many have no confirmed mode?")
    if not answer.more["months"]:
        st.markdown("The cases have no day of receipt: nothing is known by month.")
        return
    _show_table(
        part(answer, "months").rows[::-1],  # those scored are the newest
        "months",
        {
            "month": "month of receipt",
            "n_cases": "cases",
            "n_unlabelled": "no confirmed mode",
            "share_unlabelled": "share (%)",
            "low_unlabelled": "95 % from (%)",
            "high_unlabelled": "to (%)",
            "n_scored": "scored",
            "n_right": "named first",
            "share": "share right (%)",
            "low": "95 % from (%)",
            "high": "to (%)",
        },
        what="Cases by month of receipt: unconfirmed, scored and named right",
    )
    _offer(answer, "months")


def tell_assumed(answer: Answer) -> None:
    """Write how it was measured and what is left out, closed until opened."""
    more = answer.more
    fitted, weighed, scored, used, n_open = (
        text.count(cast("int", more[name]))
        for name in ("n_fitted", "n_weighed", "n_scored", "n_cases", "n_unlabelled")
    )
    cases = (
        f"Cases fitted on: {fitted}, weighed on: {weighed}, scored: {scored}; the "
        f"suggester in use rests on {used}, with labels up to {more['trained_to']}"
    )
    open_ = f"Left out: {n_open} without a confirmed mode"
    widgets.tell_left_out([*answer.method.rstrip(".").split(". "), cases, open_])


def _measure(row: Row) -> Row:
    is_share = row["n"] is not None
    n_of = cast("int", row["n_of"])
    value, low, high = (
        cast("float | None", row[name]) for name in ("value", "low", "high")
    )
    shown, limits = "", ""
    if value is not None:
        shown = text.share(value, n_of) if is_share else text.estimate(value)
    if low is not None and high is not None:
        limits = (
            text.share_interval(low, high, n_of)
            if is_share
            else text.interval(low, high)
        )
    elif row["by_chance"] is not None:
        by_chance = text.estimate(cast("float", row["by_chance"]))
        limits = f"by chance up to {by_chance}"
    return row | {"of": OF[str(row["of"])], "value": shown, "interval": limits}


def _show(
    answer: Answer,
    name: str,
    drawn: Callable[[Sequence[Row]], Chart],
    *,
    title: str,
    seen: str,
    columns: Mapping[str, str],
) -> None:
    rows = part(answer, name).rows
    chart = drawn(rows)
    st.markdown(f"**{title}**")
    show_chart(chart, key=f"{PAGE}_{name}_chart", seen=seen)
    _show_table(rows, name, columns, what=title)
    _offer(answer, name, pictures.Picture(chart, title))


def _show_table(
    rows: Sequence[Row], name: str, columns: Mapping[str, str], *, what: str
) -> None:
    percents = [column for column, label in columns.items() if "(%)" in label]
    shown_rows = [
        row | {column: _percent(row[column]) for column in percents} for row in rows
    ]
    shown = {
        column: widgets.percent(label) if column in percents else label
        for column, label in columns.items()
    }
    widgets.show_table(shown_rows, shown, key=f"{PAGE}_{name}", what=what)


def _percent(value: object) -> float | None:
    return None if value is None else 100 * cast("float", value)


def _texts(answer: Answer, name: str) -> Sequence[str]:
    return cast("Sequence[str]", answer.more[name])


def _offer(answer: Answer, name: str, picture: pictures.Picture | None = None) -> None:
    widgets.offer_files(
        PAGE, part(answer, name), words={}, table=f"{PAGE}-{name}", picture=picture
    )
