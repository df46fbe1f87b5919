"""What a life answer does not count, and why, in counts and sentences."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import pandas as pd

from analytics.rollup.snapshot import About, Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.life_lives import Lives, parameters
from dashboard.queries.quality_doubts import (
    LATER_FAILURES,
    MAINLY,
    REMEMBERED,
    term_end,
)


@dataclass(frozen=True, slots=True, eq=False)
class Counts:
    """Units and cases under the filters that a life answer speaks of."""

    left_out: Mapping[str, int]  # units without life data, cases of unknown serials
    n_listed: int  # units of the register
    n_returned: int  # of these, with a case
    n_past_term: int  # with life data, term over before the observation end
    n_no_term: int  # with life data, end of the term not known
    n_open: int  # cases without a confirmed cause
    n_closed: int
    n_after_end: int  # failures after the observation end
    n_after_term: int  # cases after the end of the term
    by_age: pd.DataFrame  # cases: age, n_open, n_closed, n_failures (asked for), …


def counts_under(snapshot: Snapshot, filters: Filters) -> Counts:
    """Return how many units and cases are left out, open, too late or out of sight."""
    asked = parameters(filters) | {"observation_end": snapshot.about.observation_end}
    units = snapshot.ask("life_units", asked, chosen="chosen_units")
    cases = snapshot.ask("life_cases", asked)
    is_left_out = units["reason"].notna()
    reasons = units[is_left_out]
    n_unknown = _unknown_serials(snapshot)
    return Counts(
        left_out=dict(zip(reasons["reason"], map(int, reasons["n_units"]), strict=True))
        | ({"unknown_serial": n_unknown} if n_unknown else {}),
        n_listed=int(units["n_units"].sum()),
        n_returned=int(units["n_returned"].sum()),
        n_past_term=int(units.loc[~is_left_out, "n_past_term"].sum()),
        n_no_term=int(units.loc[~is_left_out, "n_no_term"].sum()),
        **{
            name: int(cases[name].sum())
            for name in ("n_open", "n_closed", "n_after_end", "n_after_term")
        },
        by_age=cases,
    )


@lru_cache(maxsize=REMEMBERED)
def _unknown_serials(snapshot: Snapshot) -> int:
    return int(snapshot.ask("unknown_serials")["n_cases"].iloc[0])


def not_counted(snapshot: Snapshot, lives: Lives, counts: Counts) -> list[str]:
    """Return in sentences what the estimates leave out, and doubts of them."""
    n_day_0 = int(lives.n_failed[lives.age == 0].sum())
    sentences = [
        *_after_the_end(snapshot.about, counts),
        *_after_the_term(snapshot, counts),
        *_returned(counts),
    ]
    if n_day_0:
        sentences.append(
            f"Failures on day 0: {text.count(n_day_0)}; the curve counts them at age "
            "0, a law as failures within the first day."
        )
    return sentences


def _after_the_end(about: About, counts: Counts) -> list[str]:
    end = about.observation_end
    if end >= about.as_of:
        return []
    return [
        (
            f"Failures after {end} are not all known yet and do not count: "
            f"{text.counted(counts.n_after_end, 'failure')} so far. A unit that first "
            "failed later counts as working to that day."
        ),
        f"Months from {_first_not_complete(end):%Y-%m} on are not complete.",
    ]


def _after_the_term(snapshot: Snapshot, counts: Counts) -> list[str]:
    if snapshot.about.failures_seen != "in_warranty":
        found = term_end(snapshot)
        if found["state"] != "asked":
            return []
        ratio, low, high = (float(str(found[key])) for key in ("ratio", "low", "high"))
        return [
            (
                f"{LATER_FAILURES} In the 90 days after the term {found['n_after']} "
                f"failed, in those before it {found['n_before']}: a ratio of rates of "
                f"{text.estimate(ratio)} (95 % interval {text.interval(low, high)})."
            )
        ]
    sentences = [
        (
            f"Failures after the end of the term are not seen: "
            f"{text.count(counts.n_past_term)} units count only up to it, and "
            f"{text.count(counts.n_after_term)} cases after it do not count."
        )
    ]
    if counts.n_no_term:
        sentences.append(
            f"The end of the term is not known of {text.count(counts.n_no_term)} "
            "units: they count up to the observation end, which makes lives look "
            "longer if their later failures are not seen either."
        )
    return sentences


def _returned(counts: Counts) -> list[str]:
    n_listed, n_returned = counts.n_listed, counts.n_returned
    if n_returned <= MAINLY * n_listed:
        return []
    return [
        (
            f"{text.count(n_returned)} of {text.count(n_listed)} units under the "
            "filters were returned: if units that were sold and never came back are "
            "missing, lives look shorter than they are."
        )
    ]


def _first_not_complete(end: dt.date) -> dt.date:
    # A month is complete if it ended by the observation end.
    following = end + dt.timedelta(days=1)
    return following.replace(day=1)
