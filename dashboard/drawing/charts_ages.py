"""Charts by age: the rate, the share of each mode, and two curves side by side."""

from collections.abc import Mapping, Sequence
from typing import cast

import altair as alt
import pandas as pd

from dashboard import text
from dashboard.drawing.charts import CONTEXT, FITTED, OBSERVED, Chart
from dashboard.drawing.charts_fitted import (
    chart_of,
    fitted_line,
    line_legend,
    log_survival,
)
from dashboard.drawing.charts_life import (
    HEADROOM,
    PERCENT_TICKS,
    age_axis,
    from_new,
    one_a_pixel,
)
from dashboard.queries.answer import Answer, Row

HEIGHT = 360
TALL = 460
DAYS_A_YEAR = 365.25
LARGEST_CUT = 2.5  # whiskers longer than so many times the largest rate are cut
LABEL_STEP = 40  # pixels from label to label
LABEL_ROOM = 0.6  # how far the axis goes on for labels, in parts of the oldest age
# Of Okabe and Ito's colours those that say nothing else here; grey for the rest.
MODE_COLOURS = ("#0072B2", "#E69F00", "#009E73", "#CC79A7", "#56B4E9", "#F0E442")
OTHERS = "others"
REST = "#B3B3B3"
PAIR = (OBSERVED, "#CC79A7")
PAIR_WIDTHS = (3, 1.5)  # told apart by more than colour


def rate_chart(answer: Answer) -> Chart:
    """Return failures per 1 000 units and year by age, whiskers, counts beside.

    The law fitted, averaged over each piece of age, lies behind as a thin line.
    """
    rows = cast("Sequence[Row]", answer.more["hazard"])
    frame = pd.DataFrame(rows)
    numbers = ["from_days", "to_days", "rate", "low", "high"]
    frame[numbers] = frame[numbers].astype(float)
    frame["middle"] = (frame["from_days"] + frame["to_days"]) / 2
    most = frame["rate"].max() or frame["high"].min()
    top = min(frame["high"].max(), LARGEST_CUT * most)
    is_cut = frame["high"] > top
    frame["beside"] = [
        text.count(int(n)) + (f" (to {text.estimate(high)})" if cut else "")
        for n, high, cut in zip(frame["n_failed"], frame["high"], is_cut, strict=True)
    ]
    frame["end"] = frame["high"].clip(upper=top)
    y = alt.Y(
        "rate:Q",
        title="failures per 1 000 units and year",
        scale=alt.Scale(domain=[0, HEADROOM * top], nice=False),
    )
    base = chart_of(frame)
    x = age_axis("from_days", oldest=frame["to_days"].max())
    at = alt.X("middle:Q")
    steps = base.mark_rule(color=OBSERVED, strokeWidth=3).encode(
        x=x, x2="to_days:Q", y=y
    )
    whiskers = base.mark_rule(color=OBSERVED, strokeWidth=1.5).encode(
        x=at, y=alt.Y("low:Q"), y2="end:Q"
    )
    ends = [
        base.transform_filter(kept)
        .mark_tick(color=OBSERVED, thickness=1.5, size=10, orient="horizontal")
        .encode(x=at, y=alt.Y(f"{name}:Q"))
        for name, kept in (("low", "true"), ("end", "datum.high <= datum.end"))
    ]
    counts = base.mark_text(dy=-9).encode(x=at, y=alt.Y("end:Q"), text="beside:N")
    layers = [*_fitted_rate(answer, frame, x, y), steps, whiskers, *ends, counts]
    return alt.layer(*layers).properties(height=HEIGHT)


def _fitted_rate(
    answer: Answer, frame: pd.DataFrame, x: alt.X, y: alt.Y
) -> list[alt.Chart]:
    fit = cast("Row | None", answer.more["fit"])
    if fit is None:
        return []
    name = str(fit["distribution"])
    parameters = cast("Mapping[str, float]", fit["parameters"])
    begin, end = (
        log_survival(name, parameters, frame[column].to_numpy())
        for column in ("from_days", "to_days")
    )
    days = frame["to_days"] - frame["from_days"]
    drawn = frame.assign(rate=1000 * DAYS_A_YEAR * (begin - end) / days)
    named = ["observed", fitted_line(name)]
    colour = alt.Stroke(
        "line:N",
        scale=alt.Scale(domain=named, range=[OBSERVED, FITTED]),
        legend=line_legend(),
    )
    return [
        chart_of(drawn.assign(line=named[1]))
        .mark_rule(strokeWidth=2, clip=True)
        .encode(x=x, x2="to_days:Q", y=y, stroke=colour)
    ]


def incidence_chart(answer: Answer) -> Chart:
    """Return the share failed by age as one area for each mode, on top of each other.

    Drawn as far as the table of modes reaches. The commonest lies lowest. Beside the
    end of each area stand its name, its share and its failures; a line leads to it.
    Together they are the share failed.
    """
    rows = pd.DataFrame(cast("Sequence[Row]", answer.more["incidence"]))
    reach = cast("Sequence[Row]", answer.more["modes"])[0]["age_days"]
    rows = rows[rows["age_days"] <= max(float(str(reach)), rows["age_days"].min())]
    labels = dict(zip(rows["mode"], rows["label"], strict=True))
    modes = list(labels)
    oldest = float(rows["age_days"].max())
    wide = rows.pivot_table(index="age_days", columns="mode", values="incidence")
    wide = 100 * wide[modes].astype(float).sort_index().ffill().fillna(0)
    upper = wide.cumsum(axis=1)
    lower = upper - wide
    areas = pd.concat(
        [
            one_a_pixel(_from_zero(wide.index, lower[mode], upper[mode])).assign(
                mode=mode
            )
            for mode in modes
        ],
        ignore_index=True,
    )
    top = HEADROOM * max(upper.iloc[-1, -1], 1e-3)
    last = rows.groupby("mode", sort=False).tail(1).set_index("mode")
    ends = pd.DataFrame(
        {
            "mode": modes,
            "age": oldest,
            "beyond": 1.04 * oldest,
            "middle": [(lower[m].iloc[-1] + upper[m].iloc[-1]) / 2 for m in modes],
            "words": [
                f"{labels[m]}\n"
                + _share_and_count(wide[m].iloc[-1], last.loc[m, "n_failed"])
                for m in modes
            ],
        }
    )
    ends["place"] = spread(ends["middle"], gap=LABEL_STEP / TALL * top, top=top)
    return _stacked(areas, ends, modes, oldest, top)


def _share_and_count(percent: float, n_failed: int) -> str:
    noun = "failure" if n_failed == 1 else "failures"
    return f"{text.estimate(percent)} %, {text.count(int(n_failed))} {noun}"


def _from_zero(age: pd.Index, low: pd.Series, high: pd.Series) -> pd.DataFrame:
    frame = pd.DataFrame({"age": age, "low": low.to_numpy(), "high": high.to_numpy()})
    new = pd.DataFrame({name: [0.0] for name in frame.columns})
    return pd.concat([new, frame], ignore_index=True)


def spread(
    places: Sequence[float] | pd.Series, *, gap: float, top: float
) -> list[float]:
    """Return ascending places at least `gap` apart, as near to those given as can be.

    Parameters
    ----------
    places : sequence of float
        Ascending.
    gap : float
    top : float
        The last is not above it, as long as all fit below.
    """
    moved: list[float] = []
    for place in places:
        moved.append(max(place, moved[-1] + gap if moved else gap / 2))
    limit = top
    for i in reversed(range(len(moved))):
        moved[i] = min(moved[i], limit)
        limit = moved[i] - gap
    return moved


def _stacked(
    areas: pd.DataFrame,
    ends: pd.DataFrame,
    modes: Sequence[str],
    oldest: float,
    top: float,
) -> Chart:
    colours = [
        REST if mode == OTHERS else MODE_COLOURS[i % len(MODE_COLOURS)]
        for i, mode in enumerate(modes)
    ]
    colour = alt.Color(
        "mode:N", scale=alt.Scale(domain=list(modes), range=colours), legend=None
    )
    x = age_axis(oldest=oldest, room=LABEL_ROOM)
    scale = alt.Scale(domain=[0, top], nice=False)
    y = alt.Y(
        "low:Q",
        title="units failed (%)",
        scale=scale,
        axis=alt.Axis(grid=False, tickCount=PERCENT_TICKS),
    )
    # White between the areas: they are told apart without their colours.
    drawn = (
        chart_of(areas)
        .mark_area(
            interpolate="step-after",
            stroke="white",
            strokeWidth=0.8,
            opacity=0.9,
            line=False,
        )
        .encode(x=x, y=y, y2="high:Q", color=colour)
    )
    base = chart_of(ends)
    lead = base.mark_rule(color=CONTEXT, strokeWidth=1).encode(
        x=alt.X("age:Q"), x2="beyond:Q", y=alt.Y("middle:Q"), y2="place:Q"
    )
    marks = base.mark_square(size=70, opacity=0.9).encode(
        x=alt.X("beyond:Q"), y=alt.Y("place:Q"), color=colour
    )
    words = base.mark_text(
        align="left", dx=9, dy=-7, lineHeight=14, lineBreak="\n"
    ).encode(x=alt.X("beyond:Q"), y=alt.Y("place:Q"), text="words:N")
    return alt.layer(drawn, lead, marks, words).properties(height=TALL)


def groups_chart(answer: Answer) -> Chart:
    """Return the failed share by age of two groups, each with its interval."""
    comparison = cast("Row", answer.more["comparison"])
    rows = pd.DataFrame(cast("Sequence[Row]", comparison["rows"]))
    return _pair(
        {
            str(name): from_new(own["age_days"], own["failed"], own["low"], own["high"])
            for name, own in rows.groupby("group", sort=False)
        }
    )


def without_chart(answer: Answer) -> Chart:
    """Return the failed share as it is, and as it would be without the failures."""
    without = cast("Row", answer.more["without"])
    rows = pd.DataFrame(cast("Sequence[Row]", without["rows"]))
    age, failed = rows["age_days"], rows["failed_with"]
    return _pair(
        {
            "as it is": from_new(age, failed, failed, failed),
            "without these failures (assumed)": from_new(
                age, rows["failed"], rows["low"], rows["high"]
            ),
        }
    )


def _pair(curves: Mapping[str, pd.DataFrame]) -> Chart:
    frame = pd.concat(
        [curve.assign(name=name) for name, curve in curves.items()], ignore_index=True
    )
    names = list(curves)
    stroke = alt.Stroke(
        "name:N",
        scale=alt.Scale(domain=names, range=list(PAIR)),
        legend=line_legend(),
    )
    highest = min(HEADROOM * (frame["high"].max() or 1), 100)
    x = age_axis(oldest=frame["age"].max())
    y = alt.Y(
        "failed:Q",
        title="units failed (%)",
        axis=alt.Axis(tickCount=PERCENT_TICKS),
        scale=alt.Scale(domain=[0, highest], nice=False),
    )
    layers: list[alt.Chart] = []
    for name, colour in zip(names, PAIR, strict=False):
        base = chart_of(frame[frame["name"] == name]).encode(x=x)
        band = base.mark_area(
            interpolate="step-after", opacity=0.2, color=colour, clip=True
        )
        layers.append(band.encode(y=alt.Y("low:Q"), y2="high:Q"))
    for name, width in zip(names, PAIR_WIDTHS, strict=False):
        base = chart_of(frame[frame["name"] == name]).encode(x=x)
        line = base.mark_line(interpolate="step-after", strokeWidth=width, clip=True)
        layers.append(line.encode(y=y, stroke=stroke))
    return alt.layer(*layers).properties(height=HEIGHT)
