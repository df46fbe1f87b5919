"""What a life answer does not count, and why, in counts and sentences."""

import datetime as dt

from analytics.rollup.snapshot import About, Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.life_lives import Lives, parameters
from dashboard.queries.quality_doubts import LATER_FAILURES, MAINLY, term_end


def left_out(snapshot: Snapshot, filters: Filters) -> dict[str, int]:
    """Return the units without life data by reason, and cases of unknown serials."""
    units = snapshot.ask("life_left_out", filters.parameters(), chosen="chosen_units")
    found = dict(zip(units["reason"], map(int, units["n_units"]), strict=True))
    n_unknown = int(snapshot.ask("unknown_serials")["n_cases"].iloc[0])
    return found | ({"unknown_serial": n_unknown} if n_unknown else {})


def case_counts(snapshot: Snapshot, filters: Filters) -> dict[str, int]:
    """Return how many units and cases are open, closed, too late or out of sight."""
    asked = parameters(filters) | {"observation_end": snapshot.about.observation_end}
    counted: dict[str, int] = {}
    for question in ("life_open", "life_out_of_sight"):
        row = snapshot.ask(question, asked, chosen="chosen_units").iloc[0]
        counted |= {str(name): int(value) for name, value in row.items()}
    return counted


def not_counted(snapshot: Snapshot, lives: Lives, counts: dict[str, int]) -> list[str]:
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


def _after_the_end(about: About, counts: dict[str, int]) -> list[str]:
    end = about.observation_end
    if end >= about.as_of:
        return []
    return [
        (
            f"Failures after {end} are not all known yet and do not count; their "
            "units count as working to that day: "
            f"{text.count(counts['n_after_end'])} failures so far."
        ),
        f"Months from {_first_not_complete(end):%Y-%m} on are not complete.",
    ]


def _after_the_term(snapshot: Snapshot, counts: dict[str, int]) -> list[str]:
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
            f"{text.count(counts['n_past_term'])} units count only up to it, and "
            f"{text.count(counts['n_after_term'])} cases after it do not count."
        )
    ]
    if counts["n_no_term"]:
        sentences.append(
            f"The end of the term is not known of {text.count(counts['n_no_term'])} "
            "units: they count up to the observation end, which makes lives look "
            "longer if their later failures are not seen either."
        )
    return sentences


def _returned(counts: dict[str, int]) -> list[str]:
    n_listed, n_returned = counts["n_listed"], counts["n_returned"]
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
