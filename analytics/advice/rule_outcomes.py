"""What the readings of one case say by one rule of the catalogue.

The same reading of `label_rules.csv` and `protocol.csv` as publishing makes over all
cases (`label_support`), for the one case on the bench.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from analytics.advice.gate import JudgedReading, needed_points, point_name
from analytics.advice.label_support import CHECKS_WITH_POINTS, STAGES
from analytics.advice.limits import Context
from ingest.catalogue import LabelRule


@dataclass(frozen=True, slots=True)
class RuleOutcome:
    """The outcome of one rule; all False where no reading counts for it.

    `has_passed_whole` adds that every point needed is recorded and, where the rule asks
    for it, one of the readings was taken flexed. Points are plain names, "" for none.
    """

    is_read: bool
    has_failed: bool
    has_passed: bool
    has_passed_whole: bool
    failed_points: frozenset[str]
    passed_points: frozenset[str]


@dataclass(frozen=True, slots=True)
class PlacedReading:
    """A reading before any repair, and whether it speaks for its stage and point."""

    reading: JudgedReading
    point: str
    place: int
    is_last: bool


def placed_readings(readings: Iterable[JudgedReading]) -> list[PlacedReading]:
    """Return the readings that speak of the fault, in the order of time.

    Those after the first reading after a repair are left out, unless taken on the same
    day.
    """
    ordered = sorted(readings, key=lambda reading: reading.order)
    after = [r for r in ordered if r.stage == "after_repair"]
    names = [point_name(reading.point) for reading in ordered]
    groups: dict[tuple[str, str, str], list[int]] = {}
    for place, r in enumerate(ordered):
        groups.setdefault((r.check, r.stage, r.condition or ""), []).append(place)
    last = {place for own in groups.values() for place in _lasting(own, ordered, names)}
    return [
        PlacedReading(reading, names[place], place, place in last)
        for place, reading in enumerate(ordered)
        if not after or _before(reading, after[0])
    ]


def _before(reading: JudgedReading, repaired: JudgedReading) -> bool:
    if reading.day is not None and repaired.day is not None:
        return reading.day <= repaired.day
    return reading.order < repaired.order


def _lasting(
    own: Sequence[int], ordered: Sequence[JudgedReading], names: Sequence[str]
) -> Iterable[int]:
    """Return the places of the readings that no later one of the group replaces."""
    of_point = {names[place]: place for place in own}
    for_all = [p for p in own if not names[p] and not ordered[p].has_value]
    with_points = ordered[own[0]].check in CHECKS_WITH_POINTS
    for name, place in of_point.items():
        replaced = bool(for_all) and place < for_all[-1]
        if not replaced and (name or with_points or place == own[-1]):
            yield place


def rule_outcome(
    rule: LabelRule, placed: Iterable[PlacedReading], context: Context
) -> RuleOutcome:
    """Return what the readings of a case say by a rule.

    Parameters
    ----------
    rule : LabelRule
    placed : iterable of PlacedReading
        As `placed_readings` gives them.
    context : mapping
        Facts about the unit, as `needed_points` takes them.
    """
    points = {point_name(point) for point in rule.points}
    counted = [
        item
        for item in placed
        if item.reading.check == rule.check
        and item.reading.stage in STAGES[rule.stages]
        and (not points or not item.point or item.point in points)
    ]
    judged = {item.place: _as_meant(rule, item.reading) for item in counted}
    last = [item for item in counted if item.is_last]
    failed = [i for i in counted if judged[i.place] == "fail"]
    passed = [i for i in last if judged[i.place] == "pass"]
    bad = {
        "last": [i for i in failed if i.is_last],
        "ever": failed,
        "gone": failed if _gone(counted, judged) else [],
    }[rule.counts]
    spoilt = failed if rule.counts == "ever" else [i for i in failed if i.is_last]
    unsettled = any(judged[i.place] in ("undefined", "not_done") for i in last)
    has_passed = bool(passed) and not unsettled and not spoilt
    flexed = not rule.flexed or any(i.reading.condition == "flexed" for i in passed)
    return RuleOutcome(
        is_read=bool(counted),
        has_failed=bool(bad),
        has_passed=has_passed,
        has_passed_whole=has_passed and flexed and _is_whole(rule, last, context),
        failed_points=frozenset(item.point for item in bad),
        passed_points=frozenset(item.point for item in passed),
    )


def _as_meant(rule: LabelRule, reading: JudgedReading) -> str:
    """Return the outcome; a value out on the side the rule does not mean is a pass."""
    other_side = None not in (rule.side, reading.side) and rule.side != reading.side
    return "pass" if reading.outcome == "fail" and other_side else reading.outcome


def _gone(counted: Sequence[PlacedReading], judged: dict[int, str]) -> bool:
    failed = [i.place for i in counted if judged[i.place] == "fail"]
    passed = [i.place for i in counted if judged[i.place] == "pass"]
    return bool(failed) and bool(passed) and failed[-1] < passed[-1]


def _is_whole(rule: LabelRule, last: Sequence[PlacedReading], context: Context) -> bool:
    """Tell whether every point is recorded; one value may stand without its point."""
    without = [item.reading.has_value for item in last if not item.point]
    if not all(without):
        return True
    found = {item.point for item in last}
    needs = rule.points or (
        needed_points(rule.check, context) if rule.check in CHECKS_WITH_POINTS else ()
    )
    missing = [
        need
        for need in needs
        if not any(point_name(name) in found for name in need.split(" or "))
    ]
    return len(missing) <= min(len(without), 1)
