"""The words of the watch: what failed, where, how much above what was expected."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import cast

from analytics.rollup.watch_partitions import CUTS, modes_of
from analytics.rollup.watching import THIN_BELOW
from dashboard import text
from dashboard.queries.answer import Row
from ingest import catalogue

GROUPS = {
    "handle_cable_heat": "Heat in handle and cable",
    "handle_cable_pilot": "Pilot path of handle and cable",
    "handle_cable_latch": "Latch of the handle",
    "handle_cable_earth": "Earth, insulation or housing of handle and cable",
}
SEVERITIES = ("critical", "degraded", "incipient")
FAILURE_KIND = {cut.name: cut.failure_kind for cut in CUTS}
CUT = {cut.name: cut for cut in CUTS}
# The filter that goes with a dimension.
FILTER = {"production_lot": "lot"}
SAID = {
    "model": "model",
    "cable_supplier": "cable supplier",
    "lot": "lot",
    "production_lot": "lot",
    "hardware_revision": "hardware revision",
    "region": "region",
}
FAMILY_WORDS = {
    "component": "component, all units",
    "model": "group of failures by model",
    "cable_supplier": "failure mode by cable supplier",
    "supplier_revision": "failure mode by cable supplier and hardware revision",
    "lot": "group of failures by lot",
    "hardware_revision": "failure mode by hardware revision",
    "region": "group of failures by region",
}
SETTLES = {
    "cable_supplier": (
        "open some of the returned cables and handles of this supplier and as many of "
        "another, of the same age and model, and compare the joints"
    ),
    "production_lot": (
        "inspect units of this lot that still work, and look up what changed when it "
        "was made"
    ),
    "model": "compare the part that failed with that of another model in like use",
    "hardware_revision": "compare units of this revision with the one before, alike "
    "in age and use",
    "region": "ask what is special there: climate, installers, use",
}
MONTH = "%Y-%m"


def failure_words(family: str, failure: str) -> str:
    """Return what failed, in words: a mode, a group of modes or a component."""
    if FAILURE_KIND[family] == "mode":
        return catalogue.failure_modes()[failure].label
    return GROUPS.get(failure, f"{text.words(failure).capitalize()}, any failure")


def where_words(family: str, value: str | None) -> str:
    """Return where it failed, in words."""
    cut = CUT[family]
    if not cut.dimensions:
        return "all units"
    return ", ".join(
        _named(dimension, one)
        for dimension, one in zip(cut.dimensions, cut.values(value), strict=True)
    )


def groups(family: str, value: str | None) -> Row:
    """Return what tells the units of an alarm apart, by the words of the filters.

    Returns
    -------
    dict
        dimension and value (None: all units, or not recorded); hardware_revision:
        where the group is one revision of a supplier.
    """
    cut = CUT[family]
    if not cut.dimensions:
        return {"dimension": None, "value": None, "hardware_revision": None}
    first, *more = cut.values(value)
    dimension = cut.dimensions[0]
    return {
        "dimension": FILTER.get(dimension, dimension),
        "value": first,
        "hardware_revision": more[0] if more else None,
    }


def severity(family: str, failure: str) -> str:
    """Return the worst severity of the modes counted under a failure."""
    modes = catalogue.failure_modes()
    found = {modes[mode].severity for mode in modes_of(failure, FAILURE_KIND[family])}
    return next(level for level in SEVERITIES if level in found)


def sentence(row: Row) -> str:
    """Return one alarm as a sentence with its numbers, and how it went on."""
    expected = text.estimate(cast("float", row["expected"]))
    months = cast("int", row["window_months"])
    return (
        f"{row['failure']}, {row['where']}: "
        f"{text.counted(cast('int', row['n_cases']), 'failure')} in {months} months to "
        f"{row['alarmed']} where about {expected} were expected from this group's own "
        f"past and its siblings. {_since(row)}{_rare(row)}{_after(row)}{_again(row)}"
    )


def _since(row: Row) -> str:
    n, expected = row["n_since"], cast("float | None", row["expected_since"])
    if not expected:
        return ""
    return (
        f"From {row['since']}, where the excess most likely began: "
        f"{text.count(cast('int', n))} where {text.estimate(expected)} were expected. "
    )


def _rare(row: Row) -> str:
    evidence, limit = (
        cast("float | None", row[name]) for name in ("evidence", "threshold")
    )
    if limit is None:
        return "The records now begin too late to judge that month again."
    if evidence is None or evidence < limit:
        return "With today's figures this alone would raise no alarm any more."
    # Of this family alone: the promise is shared between the families.
    return (
        "Where nothing recurs in the whole fleet, some group of this kind shows as "
        f"much {_how_often(cast('float', row['times_per_year']))}."
    )


def _after(row: Row) -> str:
    n = cast("int", row["n_after"])
    expected = cast("float", row["expected_after"])
    if not expected:
        return ""
    limits = text.interval(
        cast("float", row["low_after"]), cast("float", row["high_after"])
    )
    return (
        f" After {row['alarmed']}: {text.count(n)} where {text.estimate(expected)} "
        "were expected, "
        f"{text.estimate(cast('float', row['ratio_after']))} times as many (95 % "
        f"interval {limits})."
    )


def _again(row: Row) -> str:
    if not row["is_open_again"]:
        return ""
    return (
        f" It was closed on {row['noted_on']} and stands again: it went on, or showed "
        "in more groups since."
    )


def _how_often(per_year: float) -> str:
    if per_year <= 0:
        return "less often than the simulation can tell"
    if per_year < 1:
        return f"about once in {text.estimate(round(1 / per_year, 1))} years"
    return f"about {text.estimate(per_year)} times a year"


def explanation(rows: Sequence[Row], since: str) -> str:
    """Return in words what the excess goes with, and what would settle it.

    Parameters
    ----------
    rows : sequence of dict
        The comparison of one alarm, best first: all failures of this kind in the
        whole fleet, from the month in which the excess began.
    since : str
        That month.
    """
    if not rows:
        return (
            f"Since {since} no model, lot, supplier, revision or region stands above "
            "the others in this failure: the excess is common to all."
        )
    best = rows[0]
    said = _named(str(best["dimension"]), best["value"])
    among = (
        f"{_counts(best, 'n_cases', 'expected')} by age and mode, "
        f"{_counts(best, 'n_rest', 'expected_rest')} among all others"
    )
    limits = text.interval(cast("float", best["low"]), cast("float", best["high"]))
    how = "best told by" if cast("float", best["gain"]) > 0 else "weakly told by"
    ratio = text.estimate(cast("float", best["ratio"]))
    first = (
        f"All failures of this kind since {since} are {how} {said}: {among} (ratio of "
        f"the two {ratio}, 95 % interval {limits}, chosen for standing out most)."
    )
    parts = [first]
    parts += [_beside(row, said) for row in rows[1:] if _matters(row)]
    parts += [
        f"Within it {_named(str(row['dimension']), row['further'])} stands out once "
        f"more: {_counts(row, 'n_further', 'expected_further')}."
        for row in rows
        if row["further"] is not None
    ]
    parts.append(
        "An association, no verdict. What would settle it: "
        f"{SETTLES[str(best['dimension'])]}."
    )
    return " ".join(parts)


def _matters(row: Row) -> bool:
    return cast("float", row["gain"]) > 0 or bool(row["is_own"])


def _beside(row: Row, best: str) -> str:
    # Whether another group still has an excess where the best one is taken out.
    said = _named(str(row["dimension"]), row["value"])
    return (
        f"{said[0].upper()}{said[1:]} without {best}: "
        f"{_counts(row, 'n_beside', 'expected_beside')}."
    )


def _named(dimension: str, value: object) -> str:
    if value is None:
        return f"units whose {SAID[dimension]} is not recorded"
    return f"{SAID[dimension]} {value}"


def _counts(row: Row, n: str, expected: str) -> str:
    return (
        f"{text.counted(cast('int', row[n]), 'case')} where "
        f"{text.estimate(cast('float', row[expected]))} were expected"
    )


def month(day: dt.date) -> str:
    """Return a month as YYYY-MM."""
    return f"{day:{MONTH}}"


def why_not(about: Mapping[str, object]) -> str | None:
    """Return why the fleet is not watched, in words, or None if it is."""
    reason = about["why_not"]
    if not isinstance(reason, str):
        return None
    needed, found = (text.count(int(str(about[k]))) for k in ("n_needed", "n_found"))
    return {
        "no_units": (
            "No unit of the register is in service yet, or none has a usable day of "
            "shipping or service."
        ),
        "few_months": (
            f"The records reach over {found} months. A month is compared with the "
            f"twelve before it, so the watch begins with {needed} months."
        ),
        "few_failures": (
            f"{found} first failures are confirmed. Below {needed} no rate of false "
            "alarms can be stated, so none is raised: look at the counts."
        ),
    }[reason]


def enough(expected_year: float) -> str:
    """Return what would be enough to notice a doubling within a year."""
    return (
        f"{text.estimate(THIN_BELOW)} failures expected a year; here "
        f"{text.estimate(expected_year)}"
    )
