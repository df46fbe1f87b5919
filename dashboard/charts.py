"""Charts: one for each question, with units on the axes and intervals drawn.

Colours are those published by Okabe and Ito (2008), which people with any usual colour
vision can tell apart; a word or a mark always says the same.
"""

from collections.abc import Mapping, Sequence
from typing import cast

import altair as alt
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from dashboard import text
from dashboard.queries.answer import Answer, Row

OBSERVED = "#0072B2"
FITTED = "#E69F00"
ATTENTION = "#D55E00"
CONTEXT = "#7F7F7F"

SHOWN_BARS = 12
BAR_STEP = 30  # pixels from bar to bar: the count fits beside it
AXIS_HEIGHT = 70
TICKS = 8
CURVE_HEIGHT = 380
FIT_POINTS = 120
BEYOND = 0.25  # how far the fit is drawn beyond the oldest unit, in parts of that age
LABEL_PIXELS = 320
LINES = ("observed", "fitted", "fitted, beyond the oldest unit (dashed)")

Floats = NDArray[np.float64]
Chart = alt.LayerChart | alt.FacetChart


def modes_chart(rows: Sequence[Row]) -> Chart:
    """Return bars of the share of each failure mode, interval as whisker, count beside.

    Parameters
    ----------
    rows : sequence of dict
        Rows of the query `modes`, commonest first; the first 12 are drawn.
    """
    frame = pd.DataFrame(rows[:SHOWN_BARS])
    frame[["share", "low", "high"]] = 100 * frame[["share", "low", "high"]].astype(
        float
    )
    is_critical = frame["severity"] == "critical"
    frame["beside"] = [
        text.count(int(n)) + (", critical" if critical else "")
        for n, critical in zip(frame["n_cases"], is_critical, strict=True)
    ]
    frame["colour"] = np.where(is_critical, ATTENTION, OBSERVED)
    base = alt.Chart(frame).encode(y=_names("label"))
    share = alt.X(
        "share:Q",
        title="share of confirmed cases (%)",
        axis=alt.Axis(tickCount=TICKS),
        scale=alt.Scale(domainMin=0),
    )
    bars = base.mark_bar(size=14).encode(
        x=share, color=alt.Color("colour:N", scale=None)
    )
    # White inside the bar, grey beyond it: seen on both.
    whiskers = [
        base.mark_rule(color="white", strokeWidth=1.5).encode(x="low:Q", x2="share"),
        base.mark_tick(color="white", thickness=1.5, size=8).encode(x="low:Q"),
        base.mark_rule(color=CONTEXT, strokeWidth=1.5).encode(x="share:Q", x2="high"),
        base.mark_tick(color=CONTEXT, thickness=1.5, size=8).encode(x="high:Q"),
    ]
    counts = base.mark_text(align="left", dx=8, color=CONTEXT).encode(
        x="high:Q", text="beside:N"
    )
    return _tall(alt.layer(bars, *whiskers, counts), len(frame))


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
    beside = base.mark_text(align="left", dx=6, color=CONTEXT).encode(text="beside:N")
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
    beside = base.mark_text(align="left", dx=6, color=CONTEXT).encode(text="beside:N")
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
    right = base.transform_filter("datum.percent <= 50").mark_text(
        align="left", dx=6, color=CONTEXT
    )
    left = base.transform_filter("datum.percent > 50").mark_text(
        align="right", dx=-6, color="white"
    )
    texts = [side.encode(text="beside:N") for side in (right, left)]
    return _tall(alt.layer(bars, *texts), len(frame))


def life_chart(answer: Answer) -> Chart:
    """Return the failed share by age: steps with band, and the fit over it.

    Under a choice of failures the steps are the incidence beside other failures. The
    fit says what would be without those, which is another quantity: it is left out.
    """
    has_incidence = "incidence" in answer.rows[0]
    observed = _incidence(answer.rows) if has_incidence else _failed(answer.rows)
    lines = _lines(LINES[:1] if has_incidence else LINES)
    x = alt.X("age:Q", title="age (days in service)", axis=alt.Axis(tickCount=TICKS))
    y = alt.Y("failed:Q", title="units failed (%)", scale=alt.Scale(domainMin=0))
    steps = alt.Chart(observed).encode(x=x)
    layers: list[alt.Chart] = [
        steps.mark_area(interpolate="step-after", color=OBSERVED, opacity=0.18).encode(
            y=alt.Y("low:Q"), y2="high:Q"
        ),
        steps.mark_line(interpolate="step-after", strokeWidth=2).encode(
            y=y, color=lines
        ),
    ]
    if not has_incidence:
        fitted = alt.Chart(_fit_points(answer)).encode(x=x, y=y, color=lines)
        layers += [
            fitted.transform_filter("!datum.beyond").mark_line(strokeWidth=2),
            fitted.transform_filter("datum.beyond").mark_line(
                strokeWidth=2, strokeDash=[6, 5]
            ),
        ]
    return alt.layer(*layers).properties(height=CURVE_HEIGHT)


def _tall(chart: Chart, n_bars: int) -> Chart:
    return chart.properties(height=BAR_STEP * n_bars + AXIS_HEIGHT)


def _lines(names: Sequence[str]) -> alt.Color:
    colours = [OBSERVED, FITTED, FITTED][: len(names)]
    return alt.Color(
        "line:N",
        scale=alt.Scale(domain=list(names), range=colours),
        legend=alt.Legend(title=None, orient="top", labelLimit=LABEL_PIXELS),
    )


def _names(column: str, *, order: Sequence[str] | None = None) -> alt.Y:
    # Without an order that of the rows of the first layer, which may not have all.
    return alt.Y(
        f"{column}:N", sort=order, title=None, axis=alt.Axis(labelLimit=LABEL_PIXELS)
    )


def _failed(rows: Sequence[Row]) -> pd.DataFrame:
    frame = pd.DataFrame(rows).astype(float)
    failed = pd.DataFrame(
        {
            "age": frame["age_days"],
            "failed": 100 * (1 - frame["survival"]),
            "low": 100 * (1 - frame["high"]),
            "high": 100 * (1 - frame["low"]),
        }
    )
    return _from_new(failed)


def _incidence(rows: Sequence[Row]) -> pd.DataFrame:
    frame = pd.DataFrame(rows).astype(float)
    incidence = pd.DataFrame(
        {
            "age": frame["age_days"],
            "failed": 100 * frame["incidence"],
            "low": 100 * frame["incidence_low"],
            "high": 100 * frame["incidence_high"],
        }
    )
    return _from_new(incidence)


def _from_new(frame: pd.DataFrame) -> pd.DataFrame:
    # No unit has failed before age 0; the curve starts there.
    new = pd.DataFrame({name: [0.0] for name in frame.columns})
    return pd.concat([new, frame], ignore_index=True).assign(line=LINES[0])


def _fit_points(answer: Answer) -> pd.DataFrame:
    fit = cast("Mapping[str, object]", answer.more["fit"])
    largest = float(cast("float", answer.more["largest_age"]))
    parameters = cast("Mapping[str, float]", fit["parameters"])
    within = np.linspace(0, largest, FIT_POINTS)
    after = np.linspace(largest, (1 + BEYOND) * largest, FIT_POINTS // 4)
    age = np.concatenate([within, after])
    beyond = np.repeat([False, True], [len(within), len(after)])
    return pd.DataFrame(
        {
            "age": age,
            "failed": 100 * failed_fraction(str(fit["distribution"]), parameters, age),
            "beyond": beyond,
            "line": np.where(beyond, LINES[2], LINES[1]),
        }
    )


def failed_fraction(
    distribution: str, parameters: Mapping[str, float], age: Floats
) -> Floats:
    """Return the fitted fraction failed by each age, same shape as `age`."""
    if distribution == "weibull":
        failed = stats.weibull_min.cdf(
            age, parameters["shape"], scale=parameters["scale"]
        )
    elif distribution == "lognormal":
        failed = stats.lognorm.cdf(
            age, parameters["sigma"], scale=np.exp(parameters["mu"])
        )
    else:
        failed = stats.expon.cdf(age, scale=parameters["scale"])
    return np.asarray(failed, dtype=np.float64)
