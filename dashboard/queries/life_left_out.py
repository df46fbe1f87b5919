"""What a life answer does not count, and why, in counts and sentences."""

import datetime as dt

from analytics.rollup.snapshot import About, Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Row
from dashboard.queries.life_lives import Lives, parameters


def left_out(snapshot: Snapshot, filters: Filters) -> dict[str, int]:
    """Return the units without life data by reason, and cases of unknown serials."""
    units = snapshot.ask("life_left_out", filters.parameters(), chosen="chosen_units")
    found = dict(zip(units["reason"], map(int, units["n_units"]), strict=True))
    n_unknown = int(snapshot.ask("unknown_serials")["n_cases"].iloc[0])
    return found | ({"unknown_serial": n_unknown} if n_unknown else {})


def case_counts(snapshot: Snapshot, filters: Filters) -> Row:
    """Return how many cases of the units are open, closed, too late or out of sight."""
    asked = parameters(filters) | {"observation_end": snapshot.about.observation_end}
    counted = snapshot.ask("life_open", asked, chosen="chosen_units").iloc[0]
    row: Row = {str(name): int(value) for name, value in counted.items()}
    sight = snapshot.ask("life_out_of_sight", asked, chosen="chosen_units")
    return row | {"n_past_term": int(sight["n_units"].iloc[0])}


def not_counted(about: About, lives: Lives, counts: Row) -> list[str]:
    """Return in sentences what the estimates leave out although it is on record."""
    end, day = about.observation_end, about.as_of
    n_after_end, n_after_term, n_past_term = (
        int(str(counts[name]))
        for name in ("n_after_end", "n_after_term", "n_past_term")
    )
    sentences = []
    if end < day:
        sentences.append(
            f"Failures after {end} are not all known yet and do not count; their units "
            f"count as working to that day: {text.count(n_after_end)} failures so far."
        )
        sentences.append(
            f"Months from {_first_not_complete(end):%Y-%m} on are not complete."
        )
    if about.failures_seen == "in_warranty":
        sentences.append(
            f"Failures after the end of the term are not seen: "
            f"{text.count(n_past_term)} units count only up to it, and "
            f"{text.count(n_after_term)} cases after it do not count."
        )
    n_day_0 = int(lives.n_failed[lives.age == 0].sum())
    if n_day_0:
        sentences.append(
            f"Failures on day 0: {text.count(n_day_0)}; the curve counts them at age "
            "0, a law as failures within the first day."
        )
    return sentences


def _first_not_complete(end: dt.date) -> dt.date:
    # A month is complete if it ended by the observation end.
    following = end + dt.timedelta(days=1)
    return following.replace(day=1)
