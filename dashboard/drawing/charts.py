"""Charts: one for each question, with units on the axes and intervals drawn.

Colours are those published by Okabe and Ito (2008), which people with any usual colour
vision can tell apart; a word or a mark always says the same.
"""

from collections.abc import Sequence

import altair as alt
import numpy as np
import pandas as pd

from dashboard import text
from dashboard.queries.answer import Row

OBSERVED = "#0072B2"
FITTED = "#E69F00"
ATTENTION = "#D55E00"
CONTEXT = "#7F7F7F"

SHOWN_BARS = 12
BAR_STEP = 30  # pixels from bar to bar: the count fits beside it
AXIS_HEIGHT = 70
TICKS = 8
LABEL_PIXELS = 320

Chart = alt.LayerChart | alt.FacetChart


def counts_chart(rows: Sequence[Row], *, name: str, count: str, axis: str) -> Chart:
    """Return bars of counts with the count beside; the first 12 rows are drawn."""
    frame = pd.DataFrame(rows[:SHOWN_BARS])
    frame["beside"] = [text.count(int(n)) for n in frame[count]]
    base = alt.Chart(frame).encode(
        y=_names(name),
        x=alt.X(
            f"{count}:Q",
            title=axis,
            axis=alt.Axis(tickCount=TICKS, tickMinStep=1, format="d"),
        ),
    )
    bars = base.mark_bar(size=14, color=OBSERVED)
    beside = base.mark_text(align="left", dx=6).encode(text="beside:N")
    return _tall(alt.layer(bars, beside), len(frame))


def months_chart(rows: Sequence[Row]) -> Chart:
    """Return bars of returns by month of failure; hollow where not complete yet.

    Parameters
    ----------
    rows : sequence of dict
        month, n_received, is_complete.
    """
    frame = pd.DataFrame(rows)
    is_complete = frame["is_complete"].astype(bool)
    frame["fill"] = np.where(is_complete, OBSERVED, "transparent")
    frame["beside"] = [
        text.count(int(n)) + ("" if complete else ", not complete")
        for n, complete in zip(frame["n_received"], is_complete, strict=True)
    ]
    base = alt.Chart(frame).encode(
        y=_names("month", order=list(frame["month"])),
        x=alt.X(
            "n_received:Q",
            title="returns received so far",
            axis=alt.Axis(tickCount=TICKS, tickMinStep=1, format="d"),
        ),
    )
    # An outline around nothing would look like a mark.
    bars = (
        base.transform_filter("datum.n_received > 0")
        .mark_bar(size=14, stroke=OBSERVED, strokeWidth=1.5)
        .encode(color=alt.Color("fill:N", scale=None))
    )
    beside = base.mark_text(align="left", dx=6).encode(text="beside:N")
    return _tall(alt.layer(bars, beside), len(frame))


def suspects_chart(rows: Sequence[Row]) -> Chart:
    """Return bars of the share of each likely mode, like cases beside."""
    frame = pd.DataFrame(rows)
    frame["percent"] = 100 * frame["probability"].astype(float)
    frame["beside"] = [
        f"{share:.0f} %, {text.count(int(n))} like {'case' if n == 1 else 'cases'}"
        for share, n in zip(frame["percent"], frame["n_like"], strict=True)
    ]
    base = alt.Chart(frame).encode(
        y=alt.Y("label:N", sort=None, title=None, axis=alt.Axis(labelLimit=190)),
        x=alt.X(
            "percent:Q",
            title="share of returns like this one (%)",
            scale=alt.Scale(domain=[0, 100]),
            axis=alt.Axis(values=[0, 25, 50, 75, 100]),
        ),
    )
    bars = base.mark_bar(size=14, color=OBSERVED)
    # Beyond the middle there is no room to the right of the bar.
    right = base.transform_filter("datum.percent <= 50").mark_text(align="left", dx=6)
    left = base.transform_filter("datum.percent > 50").mark_text(
        align="right", dx=-6, color="white"
    )
    texts = [side.encode(text="beside:N") for side in (right, left)]
    return _tall(alt.layer(bars, *texts), len(frame))


def _tall(chart: Chart, n_bars: int) -> Chart:
    return chart.properties(height=BAR_STEP * n_bars + AXIS_HEIGHT)


def _names(column: str, *, order: Sequence[str] | None = None) -> alt.Y:
    # Without an order that of the rows of the first layer, which may not have all.
    return alt.Y(
        f"{column}:N", sort=order, title=None, axis=alt.Axis(labelLimit=LABEL_PIXELS)
    )
