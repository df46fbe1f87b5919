"""Charts of the watch: months observed against those expected, and the evidence.

Both charts of an alarm share their months and the width of their left axis, so that a
month stands above itself. What a mark means is said by its shape and a word, never by
its colour alone.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import altair as alt
import pandas as pd

from dashboard.drawing.charts import ATTENTION, CONTEXT, FITTED, OBSERVED, Chart
from dashboard.queries.answer import Row

SHOWN_MONTHS = 60
LEAST_MONTHS = 12
SPARK_HEIGHT = 56
COUNTS_HEIGHT = 330
EVIDENCE_HEIGHT = 260
AXIS_WIDTH = 50  # pixels left of both charts
# Of the height: what the marks take, the rules of the months named, their two words.
MARKS, RULES, WORDS = 0.72, 0.8, (0.99, 0.9)
TICKS = 5
HOLLOW = "observed, not complete"
MONTH: Final = "utcyearmonth"
NARROW = 0.2  # part of the width that a word needs


@dataclass(frozen=True, slots=True)
class _Named:
    word: str
    colour: str
    dash: tuple[int, int]


NAMED = {
    "since": _Named("began about", CONTEXT, (3, 3)),
    "alarmed": _Named("alarm", ATTENTION, (1, 0)),
}


def spark_chart(months: Sequence[Row]) -> Chart:
    """Return the last months small and without axes: bars observed, line expected.

    Parameters
    ----------
    months : sequence of dict
        month, observed, expected; in the order of time.
    """
    base = alt.Chart(_dated(months))
    bars = base.mark_bar(color=OBSERVED).encode(
        x=alt.X("day:T", timeUnit=MONTH, axis=None), y=alt.Y("observed:Q", axis=None)
    )
    line = base.mark_line(color=FITTED, strokeWidth=2.5).encode(
        x=alt.X("day:T", timeUnit=MONTH, axis=None, bandPosition=0.5),
        y=alt.Y("expected:Q", axis=None),
    )
    return alt.layer(bars, line).properties(height=SPARK_HEIGHT)


def counts_chart(series: Sequence[Row], alarm: Row) -> Chart:
    """Return failures a month as bars, those expected as a line.

    Parameters
    ----------
    series : sequence of dict
        The months of one alarm, in the order of time; the last 60 are drawn. Bars of
        months that are not complete are hollow.
    alarm : dict
        Its row: `since` and `alarmed` are marked by a word.
    """
    frame = _dated(drawn_months(series))
    frame["bar"] = [
        "observed" if complete else HOLLOW for complete in frame["is_complete"]
    ]
    frame["line"] = "expected"
    tallest = float(frame[["observed", "expected"]].astype(float).max().max())
    title = "failures a month"
    bars = (
        alt.Chart(frame)
        # The outline of a bar without height would be a line.
        .transform_filter("datum.observed > 0")
        .mark_bar(stroke=OBSERVED, strokeWidth=1)
        .encode(
            x=_months(frame),
            y=_left("observed", title, tallest),
            fill=alt.Fill(
                "bar:N",
                scale=_scale({"observed": OBSERVED, HOLLOW: "transparent"}),
                legend=alt.Legend(
                    title=None, orient="top", labelLimit=0, symbolType="square"
                ),
            ),
        )
    )
    expected = (
        alt.Chart(frame)
        .mark_line(strokeWidth=3)
        .encode(
            x=_months(frame, 0.5),
            y=_left("expected", title, tallest),
            stroke=_lines("line", {"expected": FITTED}),
        )
    )
    marks = _named_months(frame, alarm, title, tallest)
    return alt.layer(*marks, bars, expected).properties(height=COUNTS_HEIGHT)


def evidence_chart(series: Sequence[Row], alarm: Row) -> Chart:
    """Return the evidence for an excess by month, and the threshold it has to reach.

    Parameters
    ----------
    series : sequence of dict
        As for `counts_chart`; a month without a failure has no evidence.
    alarm : dict
        Its row.
    """
    frame = _dated(drawn_months(series))
    frame["line"] = "threshold"
    values = frame[["evidence", "threshold"]].astype(float)
    highest = float(values.max().max())
    title = "evidence"
    base = alt.Chart(frame)
    points = base.transform_filter("isValid(datum.evidence)").encode(
        x=_months(frame, 0.5), y=_left("evidence", title, highest)
    )
    stems = points.mark_rule(color=OBSERVED, strokeWidth=2).encode(y2=alt.datum(0))
    heads = points.mark_point(
        size=46, strokeWidth=1.5, stroke=OBSERVED, opacity=1
    ).encode(
        fill=alt.condition(
            "datum.is_complete", alt.value(OBSERVED), alt.value("transparent")
        )
    )
    threshold = (
        base.transform_filter("isValid(datum.threshold)")
        .mark_line(strokeWidth=2, strokeDash=[6, 4], interpolate="step")
        .encode(
            x=_months(frame, 0.5),
            y=_left("threshold", title, highest),
            stroke=_lines("line", {"threshold": CONTEXT}),
        )
    )
    marks = _named_months(frame, alarm, title, highest)
    return alt.layer(*marks, threshold, stems, heads).properties(height=EVIDENCE_HEIGHT)


def drawn_months(series: Sequence[Row]) -> Sequence[Row]:
    """Return the months drawn: at most 60, none from before the group existed."""
    begun = next((n for n, month in enumerate(series) if month["expected"]), 0)
    first = min(begun, max(0, len(series) - LEAST_MONTHS))
    return series[first:][-SHOWN_MONTHS:]


def _dated(months: Sequence[Row]) -> pd.DataFrame:
    frame = pd.DataFrame(months)
    return frame.assign(day=[f"{month}-01" for month in frame["month"]])


def _months(frame: pd.DataFrame, band: float | None = None) -> alt.X:
    # The same months on both charts, with or without bars; what is not a bar stands
    # in the middle of its month.
    first, last = (
        dt.date.fromisoformat(day) for day in (frame["day"].min(), frame["day"].max())
    )
    end = (last + dt.timedelta(days=31)).replace(day=1)
    domain = [
        alt.DateTime(year=day.year, month=day.month, date=1, utc=True)
        for day in (first, end)
    ]
    place: dict[str, Any] = {} if band is None else {"bandPosition": band}
    return alt.X(
        "day:T",
        timeUnit=MONTH,
        title="month of failure",
        axis=alt.Axis(
            format="%Y-%m", labelOverlap=True, labelSeparation=14, grid=False
        ),
        scale=alt.Scale(type="utc", domain=domain),
        **place,
    )


def _left(column: str, title: str, highest: float) -> alt.Y:
    return alt.Y(
        f"{column}:Q",
        title=title,
        axis=alt.Axis(
            tickCount=TICKS, tickMinStep=1, minExtent=AXIS_WIDTH, maxExtent=AXIS_WIDTH
        ),
        scale=alt.Scale(domain=[0, _top(highest)], nice=False),
    )


def _top(highest: float) -> float:
    return max(highest, 1) / MARKS


def _scale(colours: Mapping[str, str]) -> alt.Scale:
    return alt.Scale(domain=list(colours), range=list(colours.values()))


def _lines(column: str, colours: Mapping[str, str]) -> alt.Stroke:
    return alt.Stroke(
        f"{column}:N",
        scale=_scale(colours),
        legend=alt.Legend(
            title=None, orient="top", symbolType="stroke", symbolStrokeWidth=3
        ),
    )


def _named_months(
    frame: pd.DataFrame, alarm: Row, title: str, highest: float
) -> list[alt.Chart]:
    # The month the excess began, and that of the alarm: a rule and a word above it.
    shown, top = list(frame["month"]), _top(highest)
    layers = []
    for number, (name, mark) in enumerate(NAMED.items()):
        month = str(alarm[name])
        if month not in shown:
            continue
        # Each word on its own side of the two rules, where there is room for it.
        place = shown.index(month) / len(shown)
        to_left = place > NARROW if name == "since" else place > 1 - NARROW
        point = frame[frame["month"] == month].assign(
            words=f"{mark.word} {month}",
            foot=0,
            rule=RULES * top,
            above=WORDS[number] * top,
        )
        base = alt.Chart(point).encode(x=_months(frame, 0.5))
        rule = base.mark_rule(
            color=mark.colour, strokeWidth=1.5, strokeDash=mark.dash
        ).encode(y=_left("foot", title, highest), y2="rule:Q")
        word = base.mark_text(
            align="right" if to_left else "left", baseline="top"
        ).encode(text="words:N", y=_left("above", title, highest))
        layers += [rule, word]
    return layers
