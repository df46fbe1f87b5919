"""Charts of the report about suggestions: shares kept, and the risk of answering."""

from collections.abc import Sequence

import altair as alt
import pandas as pd

from dashboard import text
from dashboard.drawing.charts import CONTEXT, FITTED, OBSERVED, Chart
from dashboard.drawing.charts_fitted import chart_of
from dashboard.queries.answer import Row

HEIGHT = 380
EXACT = "shares exactly right"
COUNTED = "counted, with 95 % interval"
WRONG = "wrong, with 95 % interval"
BAND = "rgba(0, 114, 178, 0.25)"
MARKS = [0, 20, 40, 60, 80, 100]
HEADROOM = 1.1
TICKS = 6
LARGEST = 100
ROOM = 90
_SAID = "share the first suggestion was given (%)"
_RIGHT = "of these right (%)"


def calibration_chart(rows: Sequence[Row]) -> Chart:
    """Return the share right against the confidence, counts beside.

    Parameters
    ----------
    rows : sequence of dict
        The part `calibration` of the report.
    """
    frame = _percent(rows, ["mean_confidence", "share", "low", "high"])
    frame["beside"] = [text.count(int(n)) for n in frame["n_cases"]]
    frame["mark"] = COUNTED
    colours = alt.Scale(domain=[COUNTED, EXACT], range=[OBSERVED, FITTED])
    colour = alt.Color("mark:N", scale=colours, legend=_legend())
    ends = pd.DataFrame({"at": [0, LARGEST], "mark": EXACT})
    exact = (
        chart_of(ends)
        .mark_line(strokeDash=[6, 4], strokeWidth=2)
        .encode(x=_across("at", _SAID), y=_up("at", _RIGHT), color=colour)
    )
    base = chart_of(frame).encode(x=_across("mean_confidence", _SAID))
    whiskers = base.mark_rule(color=CONTEXT, strokeWidth=1.5).encode(
        y=_up("low", _RIGHT), y2="high:Q"
    )
    points = base.mark_point(size=70, filled=True, opacity=1).encode(
        y=_up("share", _RIGHT), color=colour
    )
    # At the right edge there is no room to the right of the point.
    room = base.transform_filter(f"datum.mean_confidence <= {ROOM}")
    edge = base.transform_filter(f"datum.mean_confidence > {ROOM}")
    counts = [
        words.encode(y=_up("share", _RIGHT), text="beside:N")
        for words in (
            room.mark_text(align="left", dx=9, dy=12),
            edge.mark_text(align="right", dx=-9, dy=12),
        )
    ]
    return alt.layer(exact, whiskers, points, *counts).properties(height=HEIGHT)


def coverage_chart(rows: Sequence[Row]) -> Chart:
    """Return the share wrong against the share of cases answered, surest first.

    Parameters
    ----------
    rows : sequence of dict
        The part `coverage` of the report.
    """
    frame = _percent(rows, ["coverage", "error", "low", "high"])
    frame["mark"] = WRONG
    top = min(LARGEST, HEADROOM * max(float(frame["high"].max()), 1))
    base = chart_of(frame).encode(
        x=_across("coverage", "cases answered, surest first (%)")
    )
    title = "of these wrong (%)"
    band = base.mark_area(color=BAND).encode(y=_up("low", title, top=top), y2="high:Q")
    line = base.mark_line(
        strokeWidth=2.5, point=alt.OverlayMarkDef(size=45, color=OBSERVED)
    ).encode(
        y=_up("error", title, top=top),
        color=alt.Color(
            "mark:N",
            scale=alt.Scale(domain=[WRONG], range=[OBSERVED]),
            legend=_legend(),
        ),
    )
    return alt.layer(band, line).properties(height=HEIGHT)


def _percent(rows: Sequence[Row], columns: Sequence[str]) -> pd.DataFrame:
    frame = pd.DataFrame(rows)
    for column in columns:
        frame[column] = 100 * frame[column].astype(float)
    return frame


def _across(column: str, title: str) -> alt.X:
    return alt.X(
        f"{column}:Q",
        title=title,
        scale=alt.Scale(domain=[0, LARGEST], nice=False),
        axis=alt.Axis(values=MARKS),
    )


def _up(column: str, title: str, *, top: float = LARGEST) -> alt.Y:
    return alt.Y(
        f"{column}:Q",
        title=title,
        scale=alt.Scale(domain=[0, top], nice=False),
        axis=alt.Axis(tickCount=TICKS),
    )


def _legend() -> alt.Legend:
    return alt.Legend(title=None, orient="top", labelLimit=0)
