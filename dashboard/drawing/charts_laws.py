"""Charts of laws: failures as points on scales where a law is a straight line.

Age stands on a scale of logarithms. The failed share stands on a scale of its own for
each law, in percent, so that points on a straight line speak for the law.
"""

from collections.abc import Mapping, Sequence
from typing import Literal, cast

import altair as alt
import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy import special

from dashboard import text
from dashboard.drawing.charts import CONTEXT, FITTED, OBSERVED, Chart
from dashboard.drawing.charts_fitted import (
    BEYOND_LINE,
    DAY_LABELS,
    NAMES,
    STROKE,
    Floats,
    chart_of,
    failed_fraction,
    line_legend,
)
from dashboard.queries.answer import Answer, Row

Law = Literal["weibull", "lognormal"]

HEIGHT = 500
# People count in days, weeks, months and years: the marks stand there.
DAY_MARKS = (1, 2, 4, 7, 14, 30, 60, 90, 180, 365, 730, 1095, 1825, 3650, 7300, 14600)
PERCENT_MARKS = (
    *(0.0001, 0.001, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5),
    *(10, 20, 30, 50, 70, 80, 90, 95, 99, 99.9, 99.99),
)
PERCENT_LABELS: Mapping[Law, str] = {
    "weibull": "format(100 * (1 - exp(-exp(datum.value))), '.4~r')",
    "lognormal": "format(100 * cumulativeNormal(datum.value), '.4~r')",
}
FEW_POINTS = 30  # up to so many carry their count where several failed
MOST_POINTS = 2000
LINE_POINTS = 60
LARGEST_SIZE = 400
FITTED_LINE = "fitted"
COMPARED = "least-squares line through the points, comparison only"
DASHES = {FITTED_LINE: [1, 0], BEYOND_LINE: [6, 5], COMPARED: [1, 0]}
COLOURS = {FITTED_LINE: FITTED, BEYOND_LINE: FITTED, COMPARED: CONTEXT}
THIN = 1
PAD = 0.02  # of a scale, free at both ends


def straightened(share: ArrayLike, law: Law) -> Floats:
    """Return where a failed share stands on the scale of a law, same shape."""
    inside = np.clip(np.asarray(share, dtype=np.float64), 1e-9, 1 - 1e-9)
    found = np.log(-np.log1p(-inside)) if law == "weibull" else special.ndtri(inside)
    return np.asarray(found, dtype=np.float64)


def law_chart(answer: Answer, law: Law) -> Chart:
    """Return the failures as points, and the law fitted to them as a straight line.

    Parameters
    ----------
    answer : Answer
        Of the query `life`, with a plotted failure above age 0.
    law : {"weibull", "lognormal"}
        Whose scale to draw on. An exponential law is straight on that of the Weibull:
        it is drawn there where it is the law asked for.

    Notes
    -----
    Pale: the band that holds the whole curve. Whiskers: the interval of the age by
    which a share has failed, where the table of ages gives it for the law drawn.
    """
    points = _points(answer, law)
    days, shares = _reach(answer, points)
    x = alt.X(
        "age:Q",
        title="age (days in service, logarithmic)",
        scale=alt.Scale(type="log", domain=_padded_days(days), nice=False),
        axis=alt.Axis(values=days, labelExpr=DAY_LABELS),
    )
    marks = straightened(np.array(shares) / 100, law).tolist()
    y = alt.Y(
        "straight:Q",
        title=f"units failed (%, {NAMES[law]} scale)",
        scale=alt.Scale(domain=_padded(marks), zero=False, nice=False),
        axis=alt.Axis(values=marks, labelExpr=PERCENT_LABELS[law]),
    )
    fitted = _drawn_law(answer, law)
    layers = [*_band(answer, law, x, y)]
    if fitted is not None:
        oldest = cast("float", answer.more["largest_age"])
        lines = _lines(fitted, law, oldest, _padded_days(days))
        layers += _drawn_lines(lines, x, y)
    layers += _drawn_points(points, x, y)
    layers += _whiskers(answer, law, x, y)
    return alt.layer(*layers).properties(height=HEIGHT)


def _points(answer: Answer, law: Law) -> pd.DataFrame:
    rows = cast("Sequence[Row]", answer.more["points"])
    frame = pd.DataFrame(rows, columns=["age_days", "n_failed", "failed_fraction"])
    # Age 0 has no logarithm; the page says how many failed there.
    frame = frame[frame["age_days"] > 0].astype(float)
    place = np.floor(MOST_POINTS * np.log(frame["age_days"]) / np.log(DAY_MARKS[-1]))
    frame = frame.groupby(place).tail(1) if len(frame) > MOST_POINTS else frame
    n_failed = frame["n_failed"].astype(int)
    is_named = (n_failed > 1) & (len(frame) <= FEW_POINTS)
    return pd.DataFrame(
        {
            "age": frame["age_days"],
            "share": frame["failed_fraction"],
            "straight": straightened(frame["failed_fraction"], law),
            "n_failed": n_failed,
            "beside": np.where(is_named, n_failed.map(text.count), ""),
        }
    )


def _reach(answer: Answer, points: pd.DataFrame) -> tuple[list[float], list[float]]:
    # Both scales begin and end at a mark: the first and last are always labelled.
    oldest = cast("float", answer.more["largest_age"])
    percent = 100 * points["share"]
    days = _marks(DAY_MARKS, points["age"].min(), max(points["age"].max(), oldest))
    return days, _marks(PERCENT_MARKS, percent.min(), percent.max())


def _marks(known: Sequence[float], low: float, high: float) -> list[float]:
    first = max(int(np.searchsorted(known, low, side="right")) - 1, 0)
    last = min(int(np.searchsorted(known, high, side="left")), len(known) - 1)
    return [float(mark) for mark in known[min(first, last - 1) : last + 1]]


def _padded(marks: Sequence[float]) -> list[float]:
    room = PAD * (marks[-1] - marks[0])
    return [marks[0] - room, marks[-1] + room]


def _padded_days(days: Sequence[float]) -> list[float]:
    return [float(np.exp(end)) for end in _padded([np.log(days[0]), np.log(days[-1])])]


def _drawn_law(answer: Answer, law: Law) -> Row | None:
    fit = cast("Row | None", answer.more["fit"])
    is_asked = fit is not None and fit["distribution"] == "exponential"
    wanted = "exponential" if is_asked and law == "weibull" else law
    laws = cast("Sequence[Row]", answer.more["laws"])
    return next((row for row in laws if row["distribution"] == wanted), None)


def _band(answer: Answer, law: Law, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    columns = ["age_days", "band_low", "band_high"]
    frame = pd.DataFrame(answer.rows, columns=columns).astype(float).dropna()
    frame = frame[frame["age_days"] > 0]
    if frame.empty:
        return []
    drawn = pd.DataFrame(
        {
            "age": frame["age_days"],
            "straight": straightened(1 - frame["band_high"], law),
            "to": straightened(1 - frame["band_low"], law),
        }
    )
    area = chart_of(_thinned(drawn)).mark_area(
        interpolate="step-after", color=OBSERVED, opacity=0.18, clip=True
    )
    return [area.encode(x=x, y=y, y2="to:Q")]


def _thinned(frame: pd.DataFrame) -> pd.DataFrame:
    if len(frame) <= MOST_POINTS:
        return frame
    place = np.floor(MOST_POINTS * np.log(frame["age"]) / np.log(DAY_MARKS[-1]))
    return frame.groupby(place).tail(1)


def _lines(row: Row, law: Law, oldest: float, days: Sequence[float]) -> pd.DataFrame:
    name = str(row["distribution"])
    seen = np.geomspace(days[0], max(oldest, days[0]), LINE_POINTS)
    after = np.geomspace(max(oldest, days[0]), days[-1], LINE_POINTS)
    through = np.geomspace(days[0], days[-1], LINE_POINTS)
    drawn = [(FITTED_LINE, "parameters", seen), (BEYOND_LINE, "parameters", after)]
    if row["line_parameters"] is not None:
        drawn.append((COMPARED, "line_parameters", through))
    return pd.concat(
        [
            pd.DataFrame(
                {
                    "line": line,
                    "age": age,
                    "straight": straightened(
                        failed_fraction(
                            name, cast("Mapping[str, float]", row[key]), age
                        ),
                        law,
                    ),
                }
            )
            for line, key, age in drawn
        ],
        ignore_index=True,
    )


def _drawn_lines(lines: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    names = list(dict.fromkeys(lines["line"]))
    encoded = {
        "x": x,
        "y": y,
        "stroke": alt.Stroke(
            "line:N",
            scale=alt.Scale(domain=names, range=[COLOURS[n] for n in names]),
            legend=line_legend(),
        ),
        "strokeDash": alt.StrokeDash(
            "line:N", scale=alt.Scale(domain=names, range=[DASHES[n] for n in names])
        ),
    }
    is_thin = lines["line"] == COMPARED
    return [
        chart_of(part).mark_line(clip=True, strokeWidth=width).encode(**encoded)
        for part, width in ((lines[is_thin], THIN), (lines[~is_thin], STROKE))
        if len(part)
    ]


def has_whiskers(answer: Answer, law: Law) -> bool:
    """Return whether the law drawn is the one whose intervals were asked for."""
    fit = cast("Row | None", answer.more["fit"])
    fitted = _drawn_law(answer, law)
    return (
        fit is not None
        and fitted is not None
        and fit["distribution"] == fitted["distribution"]
    )


def _whiskers(answer: Answer, law: Law, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    if not has_whiskers(answer, law):
        return []
    rows = pd.DataFrame(cast("Sequence[Row]", answer.more["b_lives"]))
    low, high = (
        np.clip(rows[name].astype(float), DAY_MARKS[0] / 2, 2 * DAY_MARKS[-1])
        for name in ("low", "high")
    )
    fractions = rows["failed_fraction"].astype(float)
    frame = pd.DataFrame(
        {"age": low, "high": high, "straight": straightened(fractions, law)}
    )
    base = chart_of(frame).encode(y=y)
    rule = base.mark_rule(color=FITTED, strokeWidth=2, clip=True)
    tick = base.mark_tick(
        color=FITTED, thickness=2, size=9, clip=True, orient="vertical"
    )
    return [
        rule.encode(x=x, x2="high:Q"),
        tick.encode(x=x),
        tick.encode(x=alt.X("high:Q")),
    ]


def _drawn_points(points: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    base = chart_of(points).encode(x=x, y=y)
    most = max(int(points["n_failed"].max()), 2)
    size = alt.Size(
        "n_failed:Q",
        scale=alt.Scale(domain=[1, most], range=[26, min(26 * most, LARGEST_SIZE)]),
        legend=None,
    )
    marks = base.mark_point(filled=True, color=OBSERVED, opacity=0.75, clip=True)
    counts = base.mark_text(align="left", dx=9, dy=7, clip=True)
    return [marks.encode(size=size), counts.encode(text="beside:N")]
