"""Charts about frequencies: the commonest modes, and groups at like age."""

from collections.abc import Sequence

import altair as alt
import numpy as np
import pandas as pd

from dashboard import text
from dashboard.drawing.charts import (
    ATTENTION,
    AXIS_HEIGHT,
    BAR_STEP,
    CONTEXT,
    LABEL_PIXELS,
    OBSERVED,
    SHOWN_BARS,
    TICKS,
    Chart,
)
from dashboard.drawing.charts_fitted import chart_of
from dashboard.queries.answer import Row

LABEL_ROOM = 1.25  # how far the axis goes on for the words beside the longest bar
LARGEST_CUT = 2.5  # whiskers beyond so many times the largest rate are cut
NOT_RECORDED = "not recorded"


def pareto_chart(rows: Sequence[Row]) -> Chart:
    """Return bars of cases by mode, commonest first, with the running share beside.

    Parameters
    ----------
    rows : sequence of dict
        Failures of the query `modes`, commonest first; the first 12 are drawn.
    """
    frame = pd.DataFrame(rows[:SHOWN_BARS])
    is_critical = frame["severity"] == "critical"
    n_all = frame["n_confirmed"].astype(float)
    frame["from"] = frame["low"].astype(float) * n_all
    frame["to"] = frame["high"].astype(float) * n_all
    frame["beside"] = [
        f"{text.count(int(n))}{', critical' if critical else ''}; "
        f"so far {100 * float(running):.0f} %"
        for n, critical, running in zip(
            frame["n_cases"], is_critical, frame["running"], strict=True
        )
    ]
    frame["colour"] = np.where(is_critical, ATTENTION, OBSERVED)
    base = chart_of(frame).encode(y=_names("label"))
    n_cases = alt.X(
        "n_cases:Q",
        title="confirmed cases",
        axis=alt.Axis(tickCount=TICKS, tickMinStep=1, format="d"),
        scale=alt.Scale(domain=[0, LABEL_ROOM * float(frame["to"].max())], nice=False),
    )
    bars = base.mark_bar(size=14).encode(
        x=n_cases, color=alt.Color("colour:N", scale=None)
    )
    # White inside the bar, grey beyond it: seen on both.
    whiskers = [
        base.mark_rule(color="white", strokeWidth=1.5).encode(
            x="from:Q", x2="n_cases:Q"
        ),
        base.mark_tick(color="white", thickness=1.5, size=8).encode(x="from:Q"),
        base.mark_rule(color=CONTEXT, strokeWidth=1.5).encode(x="n_cases:Q", x2="to:Q"),
        base.mark_tick(color=CONTEXT, thickness=1.5, size=8).encode(x="to:Q"),
    ]
    words = base.mark_text(align="left", dx=8).encode(x="to:Q", text="beside:N")
    return _tall(alt.layer(bars, *whiskers, words), len(frame))


def groups_chart(rows: Sequence[Row]) -> Chart:
    """Return dots for the rate of each group at like age, rings for the crude one.

    Parameters
    ----------
    rows : sequence of dict
        Rows of one dimension of `groups`, those furthest above the expected first; the
        first 12 are drawn.
    """
    frame = pd.DataFrame(rows[:SHOWN_BARS])
    rates = ["crude", "standardised", "low", "high"]
    frame[rates] = frame[rates].astype(float)
    frame["name"] = frame["value"].fillna(NOT_RECORDED).astype(str)
    most = max(frame["standardised"].max(), frame["crude"].max())
    top = min(frame["high"].max(), LARGEST_CUT * most or np.inf)
    is_cut = frame["high"] > top
    frame["end"] = frame["high"].clip(upper=top)
    frame["beside"] = [
        text.counted(int(n), "failure")
        + (f" (to {text.estimate(high)})" if cut else "")
        for n, high, cut in zip(frame["n_failures"], frame["high"], is_cut, strict=True)
    ]
    base = chart_of(frame).encode(y=_names("name"))
    x = alt.X(
        "standardised:Q",
        title="failures per 1 000 units in service and year",
        axis=alt.Axis(tickCount=TICKS),
        scale=alt.Scale(domain=[0, LABEL_ROOM * top], nice=False),
    )
    spans = base.mark_rule(color=OBSERVED, strokeWidth=1.5).encode(
        x="low:Q", x2="end:Q"
    )
    dots = base.mark_point(filled=True, size=70, opacity=1, color=OBSERVED).encode(x=x)
    rings = base.mark_point(filled=False, size=110, color=CONTEXT).encode(x="crude:Q")
    words = base.mark_text(align="left", dx=8).encode(x="end:Q", text="beside:N")
    return _tall(alt.layer(spans, rings, dots, words), len(frame))


def _names(column: str) -> alt.Y:
    # Without an order that of the rows.
    axis = alt.Axis(labelLimit=LABEL_PIXELS)
    return alt.Y(f"{column}:N", sort=None, title=None, axis=axis)


def _tall(chart: Chart, n_bars: int) -> Chart:
    return chart.properties(height=BAR_STEP * n_bars + AXIS_HEIGHT)
