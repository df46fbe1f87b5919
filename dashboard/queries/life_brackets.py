"""Failures known only to lie between two days, counted within their brackets."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analytics.errors import InsufficientDataError
from analytics.statistics.life import SurvivalCurve, interval_censored
from analytics.statistics.turnbull_limits import interval_censored_limits
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.life_ages import share_on_curve
from dashboard.queries.life_lives import Lives

MOST_PAIRS = 10_000  # more distinct brackets would take half a minute
PAIRS_FOR_LIMITS = 300  # limits draw the units anew, 200 times
N_DRAWS = 200
SEED = 1  # the same lives give the same limits

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


def bracketed(lives: Lives, curve: SurvivalCurve, ages: Sequence[float]) -> Row | None:
    """Return the share failed with failures anywhere in their brackets (Turnbull).

    Parameters
    ----------
    lives : Lives
    curve : SurvivalCurve
        The curve that counts such a failure on the later day.
    ages : sequence of float
        Ages in days at which to state the share.

    Returns
    -------
    dict or None
        n_bracketed, sentence, and rows: age_days, failed_from, failed_to (what the
        brackets leave open), low, high (95 % limits by drawing the units anew; None
        where that would take too long, or too few failed), curve_failed, n_failed (by
        that age, on the later day). Without rows where it cannot be estimated; None
        where every failure has a day.
    """
    events = lives.events
    n_bracketed = int(events.loc[events["lower_age"].notna(), "n_units"].sum())
    if not n_bracketed:
        return None
    known = (
        f"{text.count(n_bracketed)} failures are known only to lie between two days; "
        "the curve counts them on the later day"
    )
    lower, upper, n_units = _pairs(lives)
    if lives.entry_age.any() or len(lower) > MOST_PAIRS:
        why = (
            "units came into view late"
            if lives.entry_age.any()
            else "there are too many different brackets"
        )
        sentence = f"{known}. Within them they are not counted: {why}."
        return {"n_bracketed": n_bracketed, "rows": [], "sentence": sentence}
    asked = np.array([age for age in sorted(set(ages)) if age <= lives.largest_age])
    estimate = interval_censored(lower, upper, n_units=n_units)
    least, most = estimate.survival_range(asked)
    low, high = _limits(lower, upper, n_units, asked)
    rows: list[Row] = [
        {
            "age_days": float(age),
            "failed_from": 1 - float(most[place]),
            "failed_to": 1 - float(least[place]),
            "low": low[place],
            "high": high[place],
            "curve_failed": share_on_curve(curve, float(age))[0],
            "n_failed": int(lives.n_failed[lives.age <= age].sum()),
        }
        for place, age in enumerate(asked)
    ]
    return {
        "n_bracketed": n_bracketed,
        "rows": rows,
        "sentence": f"{known}. {_in_words(rows)}",
    }


def _pairs(lives: Lives) -> tuple[Floats, Floats, Counts]:
    events = lives.events
    lower = events["lower_age"].fillna(events["end_age"]).to_numpy(dtype=np.float64)
    n_working = lives.n_censored + lives.n_other
    working = lives.age[n_working > 0]
    return (
        np.concatenate([lower, working]),
        np.concatenate(
            [
                events["end_age"].to_numpy(dtype=np.float64),
                np.full(len(working), np.inf),
            ]
        ),
        np.concatenate(
            [events["n_units"].to_numpy(dtype=np.int64), n_working[n_working > 0]]
        ),
    )


def _limits(
    lower: Floats, upper: Floats, n_units: Counts, ages: Floats
) -> tuple[list[float | None], list[float | None]]:
    nothing: list[float | None] = [None] * len(ages)
    if len(lower) > PAIRS_FOR_LIMITS:
        return nothing, nothing
    try:
        found = interval_censored_limits(
            lower,
            upper,
            age=ages,
            rng=np.random.default_rng(SEED),
            n_units=n_units,
            n_draws=N_DRAWS,
        )
    except InsufficientDataError:
        return nothing, nothing
    return [1 - float(v) for v in found.high], [1 - float(v) for v in found.low]


def _in_words(rows: list[Row]) -> str:
    if not rows:
        return "No age was asked for that a unit was seen to."

    def gap(row: Row) -> float:
        return abs(float(str(row["failed_to"])) - float(str(row["curve_failed"])))

    widest = max(rows, key=gap)
    begin, end, on_curve = (
        text.estimate(100 * float(str(widest[key])))
        for key in ("failed_from", "failed_to", "curve_failed")
    )
    share = begin if begin == end else f"{begin} to {end}"
    return (
        "Counted anywhere within (Turnbull), the share failed by "
        f"{text.estimate(float(str(widest['age_days'])))} days is {share} %, against "
        f"{on_curve} % on the curve."
    )
