"""Open work by age: what waits for confirmation, and what for closing."""

import datetime as dt
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import Snapshot
from analytics.statistics.life import kaplan_meier
from dashboard.filters import Filters
from dashboard.queries.answer import Row, plain

# The step that ends a state, and what it is called.
STATES: Mapping[str, tuple[str, str]] = {
    "waiting_for_confirmation": (
        "received_to_confirmed",
        "received, waiting for confirmation",
    ),
    "confirmed_not_closed": ("confirmed_to_closed", "confirmed, not closed"),
}
# Own choice, no source: a week, a month, a quarter, a year.
BANDS: Sequence[tuple[int, int | None]] = (
    *((0, 7), (8, 30), (31, 90)),
    *((91, 365), (366, None)),
)


def band_words(first: int, last: int | None) -> str:
    """Return a band of ages in words."""
    return f"over {first - 1} days" if last is None else f"{first} to {last} days"


def open_work(snapshot: Snapshot, filters: Filters) -> tuple[list[Row], list[Row]]:
    """Return the open cases by state and age, and how long each step takes.

    Parameters
    ----------
    snapshot : Snapshot
    filters : Filters

    Returns
    -------
    bands : list of dict
        state, label, from_days, to_days, band, n_cases; days since the day of receipt,
        or since the mode was confirmed.
    states : list of dict
        state, label, n_cases, median_days, oldest_days, oldest_case_id (open cases);
        step_median_days, low, high, n_done, n_going (the step that ends the state, of
        cases received in the last 365 days: by Kaplan and Meier, so that cases still in
        it count as long as they have waited).
    """
    asked = filters.parameters() | {"as_of": snapshot.about.as_of}
    found = snapshot.ask("open_work", asked, chosen="chosen_cases")
    steps = snapshot.ask("work_steps", asked, chosen="chosen_cases")
    bands: list[Row] = []
    states: list[Row] = []
    for state, (step, label) in STATES.items():
        waiting = found[found["state"] == state]
        named: Row = {"state": state, "label": label}
        bands += [named | _band(waiting, first, last) for first, last in BANDS]
        usual = _usual(steps[steps["step"] == step])
        states.append(named | _waiting(waiting) | usual)
    return bands, states


def _band(waiting: pd.DataFrame, first: int, last: int | None) -> Row:
    inside = waiting["days"] >= first
    if last is not None:
        inside &= waiting["days"] <= last
    return {
        "from_days": first,
        "to_days": last,
        "band": band_words(first, last),
        "n_cases": int(waiting.loc[inside, "n_cases"].sum()),
    }


def _waiting(waiting: pd.DataFrame) -> Row:
    if waiting.empty:
        return {
            "n_cases": 0,
            "median_days": None,
            "oldest_days": None,
            "oldest_case_id": None,
        }
    days = np.repeat(waiting["days"].to_numpy(), waiting["n_cases"].to_numpy())
    return {
        "n_cases": len(days),
        "median_days": float(np.median(days)),
        "oldest_days": int(waiting["days"].iloc[0]),
        "oldest_case_id": str(waiting["first_case_id"].iloc[0]),
    }


def _usual(step: pd.DataFrame) -> Row:
    n_done, n_going = int(step["n_done"].sum()), int(step["n_going"].sum())
    median = low = high = None
    if n_done:
        curve = kaplan_meier(step["days"], step["n_done"], step["n_going"])
        median, (low, high) = curve.median(), curve.median_interval()
    return {
        "step_median_days": plain(median),
        "low": plain(low),
        "high": plain(high),
        "n_done": n_done,
        "n_going": n_going,
    }


def closing_is_recorded(snapshot: Snapshot) -> bool:
    """Return whether any case of the snapshot has a day of closing on record."""
    return bool(snapshot.ask("n_closed")["n_closed"].iloc[0])


def days_before(day: dt.date, days: int) -> str:
    """Return the ISO day that many days before another."""
    return (day - dt.timedelta(days=days)).isoformat()
