"""What charts of lives share: laws as numbers, and how lines and ages are labelled."""

from collections.abc import Mapping

import altair as alt
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from dashboard import text

Floats = NDArray[np.float64]

NAMES = {"weibull": "Weibull", "lognormal": "lognormal", "exponential": "exponential"}
BEYOND_LINE = "beyond the oldest unit"
DAY_LABELS = f"replace(format(datum.value, ',d'), ',', '{text.THIN_SPACE}')"
STROKE = 2.5
SYMBOL = 400  # long enough to tell dashed from drawn through


def chart_of(frame: pd.DataFrame) -> alt.Chart:
    """Return a chart that carries its rows itself.

    How data frames become rows is set for all threads at once, and the page server
    sets it while it shows a chart: a picture drawn meanwhile would be empty.
    """
    rows = frame.astype(object).where(frame.notna(), None).to_dict("records")
    return alt.Chart({"values": rows})


def fitted_line(distribution: str) -> str:
    """Return how the line of a law is named."""
    return f"fitted ({NAMES[distribution]} law)"


def log_survival(
    distribution: str, parameters: Mapping[str, float], age: Floats
) -> Floats:
    """Return the logarithm of the fraction a law leaves working, same shape as `age`.

    Parameters
    ----------
    distribution : {"weibull", "lognormal", "exponential"}
    parameters : mapping
        As a fit names them.
    age : array of float
    """
    if distribution == "weibull":
        left = stats.weibull_min.logsf(
            age, parameters["shape"], scale=parameters["scale"]
        )
    elif distribution == "lognormal":
        left = stats.lognorm.logsf(
            age, parameters["sigma"], scale=np.exp(parameters["mu"])
        )
    else:
        left = stats.expon.logsf(age, scale=parameters["scale"])
    return np.asarray(left, dtype=np.float64)


def failed_fraction(
    distribution: str, parameters: Mapping[str, float], age: Floats
) -> Floats:
    """Return the fraction a law has failed by each age, same shape as `age`."""
    return -np.expm1(log_survival(distribution, parameters, age))


def line_legend() -> alt.Legend:
    """Return the legend of lines: on top, with symbols long enough to be dashed."""
    return alt.Legend(
        title=None,
        orient="top",
        labelLimit=0,
        symbolType="stroke",
        symbolSize=SYMBOL,
        symbolStrokeWidth=2,
    )
