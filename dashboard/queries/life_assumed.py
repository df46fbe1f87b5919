"""Few failures or none: what a Weibull law says if its shape is taken as known."""

import numpy as np

from analytics.statistics.distributions import weibull_assumed_shape
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.life_laws import B10
from dashboard.queries.life_lives import Lives

N_SHAPES = 3  # both ends of the range, and the middle


def assumed(lives: Lives, shapes: tuple[float, float]) -> Row:
    """Return the scale and the age by which 10 % fail for a range of shapes.

    Raises
    ------
    InsufficientDataError
        No unit has reached an age above 0.
    """
    low, high = shapes
    rows = [
        _row(lives, float(shape))
        for shape in np.unique(np.linspace(low, high, N_SHAPES))
    ]
    n_failed = int(lives.n_failed.sum())
    return {
        "shape_low": low,
        "shape_high": high,
        "n_failed": n_failed,
        "rows": rows,
        "sentence": _in_words(rows, n_failed, lives.n_units),
    }


def _row(lives: Lives, shape: float) -> Row:
    fit = weibull_assumed_shape(
        lives.age,
        lives.n_failed,
        lives.n_censored + lives.n_other,
        shape=shape,
        entry_age=lives.entry_age,
        n_entered=lives.n_entered,
    )
    low, high = fit.quantile_interval(B10)
    return {
        "shape": shape,
        "scale_days": fit.scale,
        "low": fit.low,
        "high": fit.high,
        "b10_days": float(fit.quantile(B10)),
        "b10_low": float(low),
        "b10_high": float(high),
    }


def _in_words(rows: list[Row], n_failed: int, n_units: int) -> str:
    earliest = min(float(str(row["b10_low"])) for row in rows)
    first, last = rows[0]["shape"], rows[-1]["shape"]
    shapes = (
        f"the shape is {text.estimate(float(str(first)))}"
        if first == last
        else f"the shape lies between {text.estimate(float(str(first)))} and "
        f"{text.estimate(float(str(last)))}"
    )
    counted = f"{text.counted(n_failed, 'failure')} of {text.counted(n_units, 'unit')}"
    limit = "one-sided 95 % limit" if not n_failed else "95 % interval"
    return (
        f"If {shapes}, which is an assumption, 10 % of units fail no earlier than "
        f"{text.estimate(earliest)} days ({limit}; {counted})."
    )
