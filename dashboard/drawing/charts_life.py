"""The chart of lives: the curve with its limits, and the fit over it.

Steps are what was counted, and stay level between the ages at which units failed. A
law is drawn dashed where no unit was seen that long.
"""

from collections.abc import Mapping, Sequence
from typing import cast

import altair as alt
import numpy as np
import pandas as pd

from dashboard.drawing.charts import ATTENTION, FITTED, OBSERVED, Chart
from dashboard.drawing.charts_fitted import (
    BEYOND_LINE,
    DAY_LABELS,
    STROKE,
    Floats,
    chart_of,
    failed_fraction,
    fitted_line,
    line_legend,
)
from dashboard.queries.answer import Answer, Row

HEIGHT = 460
TICKS = 7
PERCENT_TICKS = 6
# Marks by month and year, where people look for them.
STEPS = (1, 2, 5, 10, 30, 60, 90, 180, 365, 730, 1825, 3650, 7300, 36500)
FIT_POINTS = 120
BEYOND = 0.25  # how far the fit is drawn beyond the oldest unit, in parts of that age
MOST_STEPS = 1000  # one for each pixel
LEAST_STEPS = 2  # one alone has no width
HEADROOM = 1.1
SHADES = {
    "95 % interval": "rgba(0, 114, 178, 0.36)",
    "95 % band, all ages": "rgba(0, 114, 178, 0.17)",
    "assumed shapes": "rgba(230, 159, 0, 0.30)",
}
INTERVAL, BAND, ASSUMED = SHADES
OBSERVED_LINE = "observed"


def age_axis(column: str = "age", *, oldest: float, room: float = 0) -> alt.X:
    """Return the axis of age that every chart of lives shares.

    Parameters
    ----------
    column : str
    oldest : float
        The last age drawn.
    room : float
        How far the axis goes on for words, in parts of `oldest`; no marks there.
    """
    return alt.X(
        f"{column}:Q",
        title="age (days in service)",
        axis=alt.Axis(values=age_marks(oldest), labelExpr=DAY_LABELS),
        scale=alt.Scale(domain=[0, (1 + room) * oldest], nice=False),
    )


def age_marks(oldest: float) -> list[int]:
    """Return the ages in days at which an axis up to `oldest` is labelled."""
    step = next(step for step in STEPS if oldest / step <= TICKS)
    return [step * n for n in range(int(oldest / step) + 1)]


def curve_chart(answer: Answer) -> Chart:
    """Return the failed share by age: steps, interval, band, and the fit over them.

    Under a choice of failures the steps are the incidence beside other failures. The
    fit and the band say what would be without those, which is another quantity: they
    are left out. Where a shape was assumed, the range of laws is a shade.
    """
    is_part = "incidence" in answer.rows[0]
    steps = observed(answer)
    areas = [_area(steps, INTERVAL)]
    lines = [steps.assign(line=OBSERVED_LINE)]
    reach = [steps]
    if not is_part:
        areas = [_area(band, BAND) for band in _bands(answer)] + areas
        assumed = [_area(laws, ASSUMED) for laws in _assumed(answer)]
        areas += assumed
        lines += _fitted(answer)
        reach += [*assumed, *lines]
    drawn = pd.concat(lines, ignore_index=True)
    every = pd.concat(reach, ignore_index=True)
    highest = every[["high", "failed"]].max().max()
    x = age_axis(oldest=every["age"].max())
    y = alt.Y(
        "failed:Q",
        title="units failed (%)",
        axis=alt.Axis(tickCount=PERCENT_TICKS),
        scale=alt.Scale(domain=[0, min(HEADROOM * highest, 100) or 1], nice=False),
    )
    shaded = pd.concat(areas, ignore_index=True)
    layers: list[alt.Chart | Chart] = [*_shades(shaded, x), _named_lines(drawn, x, y)]
    layers += [] if is_part else _contradiction(answer)
    return alt.layer(*layers).properties(height=HEIGHT)


def observed(answer: Answer) -> pd.DataFrame:
    """Return the curve in percent failed: age, failed, low, high, from age 0 on."""
    frame = pd.DataFrame(answer.rows)
    if "incidence" in frame:
        columns = [frame[f"incidence{part}"] for part in ("", "_low", "_high")]
    else:
        left = [frame[name].astype(float) for name in ("survival", "high", "low")]
        columns = [1 - share for share in left]
    return from_new(frame["age_days"], *columns)


def from_new(age: pd.Series, *shares: pd.Series) -> pd.DataFrame:
    """Return shares by age in percent: no unit has failed before age 0."""
    columns = dict(zip(("failed", "low", "high"), shares, strict=False))
    frame = pd.DataFrame(
        {"age": age} | {name: 100 * share for name, share in columns.items()}
    ).astype(float)
    new = pd.DataFrame({name: [0.0] for name in frame.columns})
    return one_a_pixel(pd.concat([new, frame], ignore_index=True))


def one_a_pixel(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the last step of each pixel, where there are more steps than those."""
    if len(frame) <= MOST_STEPS:
        return frame
    place = np.ceil(MOST_STEPS * frame["age"] / frame["age"].max())
    return frame.groupby(place).tail(1)


def _area(frame: pd.DataFrame, shade: str) -> pd.DataFrame:
    return frame[["age", "low", "high"]].assign(shade=shade)


def _bands(answer: Answer) -> list[pd.DataFrame]:
    columns = ["age_days", "band_low", "band_high"]
    frame = pd.DataFrame(answer.rows, columns=columns).astype(float).dropna()
    if len(frame) < LEAST_STEPS:
        return []
    band = pd.DataFrame(
        {
            "age": frame["age_days"],
            "low": 100 * (1 - frame["band_high"]),
            "high": 100 * (1 - frame["band_low"]),
        }
    )
    return [one_a_pixel(band)]


def _ages(answer: Answer) -> tuple[Floats, Floats]:
    oldest = cast("float", answer.more["largest_age"])
    return (
        np.linspace(0, oldest, FIT_POINTS),
        np.linspace(oldest, (1 + BEYOND) * oldest, FIT_POINTS // 4),
    )


def _fitted(answer: Answer) -> list[pd.DataFrame]:
    fit = cast("Row | None", answer.more["fit"])
    if fit is None:
        return []
    name = str(fit["distribution"])
    parameters = cast("Mapping[str, float]", fit["parameters"])
    names = (fitted_line(name), BEYOND_LINE)
    return [
        pd.DataFrame(
            {
                "age": age,
                "failed": 100 * failed_fraction(name, parameters, age),
                "line": line,
            }
        )
        for line, age in zip(names, _ages(answer), strict=True)
    ]


def _assumed(answer: Answer) -> list[pd.DataFrame]:
    assumed = cast("Row | None", answer.more.get("assumed"))
    if assumed is None:
        return []
    age = np.concatenate(_ages(answer))
    rows = cast("Sequence[Mapping[str, float]]", assumed["rows"])
    # Each shape with the limits of its scale: the range holds all of them.
    failed = 100 * np.stack(
        [
            failed_fraction("weibull", {"shape": row["shape"], "scale": scale}, age)
            for row in rows
            for scale in (row["low"], row["high"])
            if scale is not None
        ]
    )
    low = np.zeros(len(age)) if any(r["high"] is None for r in rows) else failed.min(0)
    return [pd.DataFrame({"age": age, "low": low, "high": failed.max(0)})]


def _shades(frame: pd.DataFrame, x: alt.X) -> list[alt.Chart]:
    names = [name for name in SHADES if name in set(frame["shade"])]
    fill = alt.Fill(
        "shade:N",
        scale=alt.Scale(domain=names, range=[SHADES[name] for name in names]),
        legend=alt.Legend(
            title=None, orient="top", labelLimit=0, symbolType="square", symbolSize=180
        ),
    )
    # The widest lies below the others.
    return [
        chart_of(frame[frame["shade"] == name])
        .mark_area(interpolate="linear" if name == ASSUMED else "step-after", clip=True)
        .encode(x=x, y=alt.Y("low:Q"), y2="high:Q", fill=fill)
        for name in reversed(names)
    ]


def _named_lines(frame: pd.DataFrame, x: alt.X, y: alt.Y) -> Chart:
    names = list(dict.fromkeys(frame["line"]))
    colours = [OBSERVED if name == OBSERVED_LINE else FITTED for name in names]
    dashes = [[6, 5] if name == BEYOND_LINE else [1, 0] for name in names]
    encoded = {
        "x": x,
        "y": y,
        "stroke": alt.Stroke(
            "line:N",
            scale=alt.Scale(domain=names, range=colours),
            legend=line_legend(),
        ),
        "strokeDash": alt.StrokeDash(
            "line:N", scale=alt.Scale(domain=names, range=dashes)
        ),
    }
    is_step = frame["line"] == OBSERVED_LINE
    layers = [
        chart_of(frame[is_step])
        .mark_line(interpolate="step-after", strokeWidth=2, clip=True)
        .encode(**encoded)
    ]
    if not is_step.all():
        layers.append(
            chart_of(frame[~is_step])
            .mark_line(strokeWidth=STROKE, clip=True)
            .encode(**encoded)
        )
    return alt.layer(*layers)


def _contradiction(answer: Answer) -> list[alt.Chart]:
    found = cast("Row | None", answer.more.get("contradicted"))
    if found is None:
        return []
    between = cast("Sequence[tuple[float, float]]", found["between"])
    # One age alone would be a rule without length.
    frame = pd.DataFrame(
        {
            "age": [begin for begin, _ in between],
            "to": [max(end, begin + 1) for begin, end in between],
            "words": ["here the fit leaves the band", *[""] * (len(between) - 1)],
        }
    )
    oldest = cast("float", answer.more["largest_age"])
    is_late = cast("float", found["from_days"]) > oldest / 2
    base = chart_of(frame).encode(x=alt.X("age:Q"))
    rule = base.mark_rule(color=ATTENTION, strokeWidth=4)
    words = base.mark_text(color=ATTENTION, align="right" if is_late else "left")
    # Beside a rule that begins late there is room to the left of it, else below it.
    return [
        rule.encode(x2="to:Q", y=alt.value(3)),
        words.encode(
            x=alt.X("age:Q"), text="words:N", y=alt.value(4 if is_late else 17)
        ),
    ]
