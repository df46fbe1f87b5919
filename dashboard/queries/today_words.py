"""Today in sentences, the same on page and command."""

from collections.abc import Mapping
from typing import cast

from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Row


def critical_sentence(critical: Mapping[str, object]) -> str:
    """Return how many critical cases are open, new, and neither."""
    n_open, n_rest = (cast("int", critical[name]) for name in ("n_open", "n_rest"))
    words = (
        f"{text.counted(n_open, 'critical case')} {_is(n_open)} not closed"
        if n_open
        else "No critical case is open"
    )
    if critical["is_compared"]:
        n_new = cast("int", critical["n_new"])
        words += f"; {text.count(n_new)} {_is(n_new)} new since the figures before"
    elif n_recent := cast("int", critical["n_recent"]):
        words += (
            f"; {text.count(n_recent)} critical since {critical['recent_from']} "
            f"{_is(n_recent)} closed, and shown"
        )
    if n_rest:
        words += f"; {text.count(n_rest)} closed earlier {_is(n_rest)} not shown"
    return f"{words}."


def no_new_alarm(filters: Filters) -> str:
    """Return that no alarm is new; under filters, that none has a case among them."""
    if filters.stated():
        return "No new alarm has a case under these filters."
    return "No alarm is new."


def _is(n: int) -> str:
    return "is" if n == 1 else "are"


def state_sentence(row: Row) -> str:
    """Return how much work is in a state, since when, and how long it usually takes."""
    n = cast("int", row["n_cases"])
    label = str(row["label"]).capitalize()
    if not n:
        return f"{label}: none. {_usual(row)}"
    half = text.age(cast("float", row["median_days"]))
    return (
        f"{label}: {text.counted(n, 'case')}, half of them for {half} days or longer, "
        f"the oldest for {text.counted(cast('int', row['oldest_days']), 'day')} "
        f"(case {row['oldest_case_id']}). {_usual(row)}"
    )


def _usual(row: Row) -> str:
    n_done = cast("int", row["n_done"])
    n = n_done + cast("int", row["n_going"])
    if not n_done:
        return (
            "How long it usually takes the data do not say: no case received in the "
            "last 365 days has both days."
        )
    if row["step_median_days"] is None:
        return (
            f"Of {text.counted(n, 'case')} received in the last 365 days fewer than "
            "half are through it yet."
        )
    low, high = (cast("float | None", row[side]) for side in ("low", "high"))
    limits = (
        f"{text.age(low)} to {text.age(high)}"
        if low is not None and high is not None
        else f"from {text.age(low)} on"
        if low is not None
        else "not known"
    )
    return (
        f"Usually half are through it within "
        f"{text.age(cast('float', row['step_median_days']))} days (95 % interval "
        f"{limits}; {text.counted(n, 'case')} of the last 365 days)."
    )
