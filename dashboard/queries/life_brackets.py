"""Failures known only to lie between two days, counted within their brackets."""

import numpy as np

from analytics.statistics.life import SurvivalCurve, interval_censored
from dashboard import text
from dashboard.queries.answer import Row
from dashboard.queries.life_lives import Lives

MOST_PAIRS = 2000  # more distinct brackets would take minutes


def bracketed(lives: Lives, curve: SurvivalCurve) -> Row | None:
    """Return the share failed with failures anywhere in their brackets (Turnbull).

    Returns
    -------
    dict or None
        n_bracketed, sentence, and rows: from_days, to_days, share (of units, failing
        in between), failed (by to_days), curve_failed (failures on the later day).
        Without rows where it cannot be estimated; None where every failure has a day.
    """
    events = lives.ends[lives.is_event]
    is_bracketed = events["lower_age"].notna()
    n_bracketed = int(events.loc[is_bracketed, "n_units"].sum())
    if not n_bracketed:
        return None
    found: Row = {"n_bracketed": n_bracketed, "rows": [], "sentence": ""}
    known = (
        f"{text.count(n_bracketed)} failures are known only to lie between two days; "
        "the curve counts them on the later day"
    )
    lower = events["lower_age"].fillna(events["end_age"]).to_numpy(dtype=np.float64)
    upper = events["end_age"].to_numpy(dtype=np.float64)
    working = lives.age[lives.n_censored + lives.n_other > 0]
    n_working = (lives.n_censored + lives.n_other)[lives.n_censored + lives.n_other > 0]
    n_pairs = len(lower) + len(working)
    if lives.entry_age.any() or n_pairs > MOST_PAIRS:
        why = (
            "units came into view late"
            if lives.entry_age.any()
            else "there are too many different brackets"
        )
        return found | {
            "sentence": f"{known}. Within them they are not counted: {why}."
        }
    estimate = interval_censored(
        np.concatenate([lower, working]),
        np.concatenate([upper, np.full(len(working), np.inf)]),
        n_units=np.concatenate([events["n_units"].to_numpy(), n_working]),
    )
    ends = np.isfinite(estimate.upper) & (estimate.mass > 0)
    failed = np.cumsum(estimate.mass)[ends]
    on_curve = 1 - curve.at(estimate.upper[ends])[0]
    rows = [
        {
            "from_days": float(low),
            "to_days": float(high),
            "share": float(mass),
            "failed": float(total),
            "curve_failed": float(other),
        }
        for low, high, mass, total, other in zip(
            estimate.lower[ends],
            estimate.upper[ends],
            estimate.mass[ends],
            failed,
            on_curve,
            strict=True,
        )
    ]
    gap = np.abs(failed - on_curve)
    widest = int(np.argmax(gap))
    return found | {
        "rows": rows,
        "sentence": (
            f"{known}. Counted anywhere within (Turnbull), the share failed differs "
            f"most by {text.estimate(rows[widest]['to_days'])} days: "
            f"{text.estimate(100 * float(failed[widest]))} instead of "
            f"{text.estimate(100 * float(on_curve[widest]))} %."
        ),
    }
