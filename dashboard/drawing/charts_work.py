"""Open work by age: how many returns wait for what, and for how long."""

from collections.abc import Sequence

import altair as alt
import numpy as np
import pandas as pd

from dashboard import text
from dashboard.drawing.charts import AXIS_HEIGHT, CONTEXT, OBSERVED, TICKS, Chart
from dashboard.queries.answer import Row

STEP = 44  # pixels for the two bars of one age
SHORT = {
    "waiting_for_confirmation": "waiting for confirmation",
    "confirmed_not_closed": "confirmed, not closed",
}


def open_work_chart(rows: Sequence[Row]) -> Chart:
    """Return bars of open returns by age, one for each state, count and state beside.

    Parameters
    ----------
    rows : sequence of dict
        state, band, n_cases: all bands, the shortest first.
    """
    frame = pd.DataFrame(rows)
    frame["beside"] = [
        f"{text.count(int(n))} {SHORT[state]}"
        for n, state in zip(frame["n_cases"], frame["state"], strict=True)
    ]
    is_first = frame["state"] == rows[0]["state"]
    frame["colour"] = np.where(is_first, OBSERVED, CONTEXT)
    base = alt.Chart(frame).encode(
        y=alt.Y("band:N", sort=None, title="days in this state"),
        yOffset=alt.YOffset("state:N", sort=list(SHORT)),
        x=alt.X(
            "n_cases:Q",
            title="returns not closed",
            axis=alt.Axis(tickCount=TICKS, tickMinStep=1, format="d"),
            # Room beside the longest bar for its words.
            scale=alt.Scale(domain=[0, 1.5 * max(int(frame["n_cases"].max()), 1)]),
        ),
    )
    bars = base.mark_bar(size=14).encode(color=alt.Color("colour:N", scale=None))
    beside = base.mark_text(align="left", dx=6).encode(text="beside:N")
    n_bands = frame["band"].nunique()
    return alt.layer(bars, beside).properties(height=STEP * n_bands + AXIS_HEIGHT)
