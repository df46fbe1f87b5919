"""The further tables about frequencies, each for itself: for export and download."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import cast

from dashboard.queries import frequencies_cross, frequencies_groups, repeats
from dashboard.queries.answer import Answer, Row

Rows = Sequence[Row]

RATE = (
    "Cases per 1 000 units in service and year, with exact Poisson 95 % limits. They "
    "say how precisely this time was counted; where one fault hits many units at once "
    "the rate itself is less certain."
)
METHODS: Mapping[str, str] = {
    "subjects": "Confirmed failures of the unit by component, severity, mechanism and "
    "cause; share of all of them with its exact (Clopper-Pearson) 95 % interval.",
    "rates": RATE,
    "ages": f"By the age of the unit on the failure day. {RATE}",
    "shipped": "Cases, repeats included, per 1 000 units shipped, with exact Poisson "
    "95 % limits; no time in service is behind them, so young lots look better than "
    "they are.",
    "change": "Rates in the newest complete months against as many before, both over "
    "years in service; exact conditional interval of their ratio, and p as twice the "
    "smaller tail of the same distribution. Adjusted p: Benjamini and Hochberg over "
    "the modes. Not adjusted for age: a fleet that grew older, or was joined by young "
    "units, changes its rate by that alone. Failures are taken as independent: where "
    "one fault hits many units at once, chance alone changes more.",
    "months": f"By month of failure. {RATE} A month that is not complete has no rate.",
    "month-ages": "Returns by month of failure and age of the unit on that day; a "
    "month that is not complete still grows.",
    "repeats": repeats.METHOD,
    "tests": "Chi-square where every cell expects 5 or more; else Fisher's exact test "
    "for two rows and columns, and otherwise 999 tables drawn with the same margins. "
    "Association only.",
}
GROUP = (
    "Failures per 1 000 units in service and year: crude, and directly standardised to "
    "the years in service by age of all units under the filters (gamma limits of Fay "
    "and Feuer). Ratio: observed over expected at the rates by age of all of them; a "
    "group with over a tenth of what is expected is held against the others (exact "
    "conditional). Level: that ratio drawn towards 1 the fewer failures are expected, "
    "so that few do not lead by luck. p: twice the smaller tail, as the interval has "
    "it; adjusted by Benjamini and Hochberg over the groups. Ages are made "
    "equal, calendar time is not. A group is associated with more failures, never "
    "shown to cause them."
)
PAIR = (
    "Confirmed cases with both; expected if they had nothing to do with each other; "
    "adjusted standardised residual; exact p of the cell, adjusted by Benjamini and "
    "Hochberg over the cells. Fewer than 5 expected: small. Association only: shares "
    "among returns, not rates of units in the field."
)
PAIR_NAMES = {
    "symptom": "symptoms",
    "cable_supplier": "cable-suppliers",
    "environment": "environments",
}


def _rows(key: str) -> Callable[[Answer], Rows]:
    return lambda answer: cast("Rows", answer.more[key])


def _inner(key: str, name: str) -> Callable[[Answer], Rows]:
    return lambda answer: cast("Mapping[str, Rows]", answer.more[key])[name]


def _hyphened(name: str) -> str:
    return name.replace("_", "-")


PARTS: Mapping[str, Callable[[Answer], Rows]] = {
    "subjects": _rows("subjects"),
    "rates": _rows("rates"),
    "change": _inner("change", "rows"),
    "ages": _rows("ages"),
    "months": _rows("months"),
    "month-ages": _rows("month_ages"),
    "shipped": _rows("shipped"),
    **{
        f"by-{_hyphened(name)}": _inner("groups", name)
        for name in frequencies_groups.DIMENSIONS
    },
    **{
        f"and-{PAIR_NAMES[name]}": _inner("pairs", name)
        for name in frequencies_cross.DIMENSIONS
    },
    "tests": _rows("tests"),
    "repeats": _inner("repeats", "rows"),
}


def part(answer: Answer, name: str) -> Answer:
    """Return one further table of the answer about modes as an answer of its own.

    Parameters
    ----------
    answer : Answer
        As `modes` gives it.
    name : str
        A key of `PARTS`.
    """
    other = GROUP if name.startswith("by-") else PAIR
    return replace(
        answer,
        rows=PARTS[name](answer),
        method=METHODS.get(name, other),
        more={},
    )
