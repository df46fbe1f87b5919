"""What the laws fitted to the lives say, in sentences."""

from collections.abc import Mapping, Sequence
from typing import cast

from analytics.statistics.law_choice import LawChoice
from dashboard import text
from dashboard.queries.answer import Row

SHOWN_STRETCHES = 3
SURE_SHAPE = 1.0  # neither more nor less frequent with age


def in_words(distribution: object) -> str:
    """Return a law as it is written: Weibull is a name."""
    return str(distribution).replace("weibull", "Weibull")


def choice_in_words(choice: LawChoice) -> str:
    """Return which law describes the failures best, or that none does."""
    if choice.best is None:
        return "Too few failures to say which law describes them better."
    if len(choice.tied) > 1:
        *others, last = map(in_words, choice.tied)
        return (
            f"The data do not tell {', '.join(others)} and {last} apart (AICc differs "
            "by under 2): each stands in the table of laws."
        )
    others = [name for name in choice.aicc if name != choice.best]
    if not others:
        return f"Only the {in_words(choice.best)} law can be fitted to so few failures."
    lead = min(choice.aicc[name] for name in others) - choice.aicc[choice.best]
    return (
        f"The {in_words(choice.best)} law describes the failures best (AICc lower by "
        f"{text.estimate(lead)} than the next)."
    )


def contradiction(row: Row, *, largest_age: float) -> Row | None:
    """Return where a law leaves the band of the curve, in words; None if it does not.

    Parameters
    ----------
    row : dict
        A row of `life_laws.compared`.
    largest_age : float
        Largest age to which a unit was seen, in days.
    """
    if row["outside_from"] is None:
        return None
    stretches = cast("Sequence[tuple[float, float]]", row["outside_between"])
    at = ", ".join(
        f"at {text.age(begin)} days"
        if begin == end
        else f"between {text.age(begin)} and {text.age(end)} days"
        for begin, end in stretches[:SHOWN_STRETCHES]
    )
    if len(stretches) > SHOWN_STRETCHES:
        at += " and at other ages"
    return {
        "from_days": row["outside_from"],
        "to_days": row["outside_to"],
        "between": stretches,
        "sentence": (
            f"The curve contradicts the {in_words(row['distribution'])} law {at}: "
            "there it lies outside the band that holds the whole curve 95 times in "
            f"100. Trust the curve up to {text.estimate(largest_age)} days; ages read "
            "from the law may be wrong."
        ),
    }


def frequency(laws: Sequence[Row]) -> Row:
    """Return whether failures become more frequent with age, in words.

    Parameters
    ----------
    laws : sequence of dict
        Rows of `life_laws.compared`.
    """
    row = next((row for row in laws if row["distribution"] == "weibull"), None)
    if row is None:
        return {
            "direction": "not_asked",
            "sentence": "Too few failures to say whether they become more or less "
            "frequent with age.",
        }
    shape = cast("Mapping[str, float]", row["parameters"])["shape"]
    intervals = cast("Mapping[str, tuple[float, float]]", row["intervals"])
    low, high = intervals["shape"]
    failures = text.counted(int(str(row["n_failed"])), "failure")
    basis = (
        f"Weibull shape {text.estimate(shape)}, 95 % interval "
        f"{text.interval(low, high)}; {failures}"
    )
    if row["outside_from"] is not None:
        basis += (
            "; but the curve contradicts this law at some ages, so look at the rate "
            "by age"
        )
    if low > SURE_SHAPE:
        direction, sentence = (
            "more",
            f"Failures become more frequent with age ({basis}).",
        )
    elif high < SURE_SHAPE:
        direction = "less"
        sentence = (
            f"Failures become less frequent with age ({basis}); a mix of weak and "
            "strong units looks the same."
        )
    else:
        direction = "not_shown"
        sentence = (
            "The data do not show whether failures become more or less frequent with "
            f"age ({basis})."
        )
    return {"direction": direction, "sentence": sentence}
