"""What confirms a failure mode on the bench, and what is still to be seen beside it.

A mode is confirmed by a fail at a check that confirms it, together with what must be
good, or bad, beside that check; never by its probability. The rules are those that
weigh the labels of closed cases (`label_rules.csv`; common practice, no source). What
no reading can say is asked, never taken for granted.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from analytics.advice.check_table import applies
from analytics.advice.confirming_words import REMARKS, Beside, verdict_words
from analytics.advice.gate import BY_CONDUCTOR, JudgedReading, point_name
from analytics.advice.limits import Context
from analytics.advice.rule_outcomes import (
    PlacedReading,
    RuleOutcome,
    placed_readings,
    rule_outcome,
)
from ingest import catalogue
from ingest.catalogue import LabelRule, checks, failure_modes

CONFIRMED: Final = "confirmed"
IF: Final = "confirmed_if"
OPEN: Final = "open"
RULED_OUT: Final = "ruled_out"
NOT_SO: Final = "not_confirmed"
# Beside this check only where it was tested live.
IF_TESTED: Final = (("contactor_not_closing", "coil_drive"),)
# The core that a check measures together with its joint in the handle.
CORE_OF: Final[Mapping[str, str]] = {
    "pilot_continuity": "CP",
    "earth_continuity": "PE",
    "proximity_latch_at_rest": "PP",
    "proximity_latch_pressed": "PP",
    "cable_coding": "PP",
}
LOCALISING: Final = "core_localisation"


@dataclass(frozen=True, slots=True)
class Confirming:
    """How far the readings confirm one mode.

    `state` is `confirmed`; `confirmed_if` (all readings are there, and `asks` holds
    what no reading can say); `not_confirmed` (something asked was answered no, which
    stands in `denied`); `open`; or `ruled_out`. `by` holds the failed checks that
    confirm it, `against` those that speak against it, `beside_missing` what must still
    be seen, dead checks first; `said` what was asked and answered yes.
    """

    mode: str
    state: str
    by: tuple[str, ...]
    against: tuple[str, ...]
    beside_missing: tuple[Beside, ...]
    asks: tuple[str, ...]
    said: tuple[str, ...]
    denied: tuple[str, ...]
    words: str

    @property
    def support(self) -> str:
        """What a label with this mode would be: backed, unbacked or contradicted."""
        if self.against:
            return "contradicted"
        return "backed" if self.by else "unbacked"

    @property
    def next_isolation(self) -> str | None:
        """The check to do next to settle it, None where none is left."""
        return self.beside_missing[0].check if self.beside_missing else None


def confirming(
    mode: str,
    readings: Iterable[JudgedReading],
    context: Context,
    *,
    answers: Iterable[str] = (),
    denied: Iterable[str] = (),
) -> Confirming:
    """Return how far the readings of a case confirm a mode.

    Parameters
    ----------
    mode : str
        Code of the failure mode.
    readings : iterable of JudgedReading
        All readings of the case.
    context : mapping
        Facts about the unit; `connector`, `phases`, `supply_system` and
        `ground_fault_device` are used.
    answers, denied : iterable of str
        Those of `asks` to which the technician said yes, and those answered no.

    Raises
    ------
    ValueError
        If there is no such mode, or it is an outcome of the whole protocol.
    """
    known = failure_modes().get(mode)
    if known is None:
        raise ValueError(f"no failure mode is called {mode!r}")
    if mode not in _rules_of():
        raise ValueError(f"{mode} is confirmed by no check, only by the whole protocol")
    told = (tuple(answers), tuple(denied))
    return _confirming(mode, placed_readings(readings), context, told)


def confirmed_modes(
    readings: Iterable[JudgedReading],
    context: Context,
    *,
    answers: Iterable[str] = (),
    denied: Iterable[str] = (),
) -> tuple[Confirming, ...]:
    """Return what the readings say of every mode that one of them backs or rules out.

    Parameters and errors as `confirming`; modes in the order of the catalogue.
    """
    placed = placed_readings(readings)
    told = (tuple(answers), tuple(denied))
    read = {item.reading.check for item in placed}
    found = (
        _confirming(mode, placed, context, told)
        for mode, rules in _rules_of().items()
        if any(rule.check in read for rule in rules)
    )
    return tuple(item for item in found if item.by or item.against)


@cache
def all_asks() -> tuple[str, ...]:
    """Return all that is ever asked because no reading can say it."""
    links = [link for link in catalogue.check_modes() if link.confirms]
    own = (link for link in links if link.mode in _rules_of())
    parts = (part for link in own for part in _prose(link.mode, link.check, {}))
    return tuple(dict.fromkeys(part for part in parts if part not in REMARKS))


@cache
def _rules_of() -> dict[str, list[LabelRule]]:
    found: dict[str, list[LabelRule]] = {}
    for rule in catalogue.label_rules():
        found.setdefault(rule.mode, []).append(rule)
    return found


def _confirming(
    mode: str,
    placed: list[PlacedReading],
    context: Context,
    given: tuple[tuple[str, ...], tuple[str, ...]],
) -> Confirming:
    rules = [(rule, rule_outcome(rule, placed, context)) for rule in _rules_of()[mode]]
    by = _names(r for r, o in rules if r.role == "backs" and o.has_failed)
    against = _names(
        r
        for r, o in rules
        if (r.role == "fails_out" and o.has_failed)
        or (r.role == "passes_out" and o.has_passed)
    )
    connector = context.get("connector")
    together = [
        (rule, outcome)
        for rule, outcome in rules
        if rule.role == "together_out"
        and (connector is None or checks()[rule.check].connector in (None, connector))
    ]
    if together and all(outcome.has_passed_whole for _, outcome in together):
        passed = _names(rule for rule, _ in together)
        against = tuple(dict.fromkeys([*against, *passed]))
    missing = tuple(_missing(rules, context)) if by and not against else ()
    told = dict.fromkeys(part for check in by for part in _prose(mode, check, context))
    parts = [part for part in told if part not in REMARKS]
    said, denied = (tuple(part for part in parts if part in of) for of in given)
    asks = tuple(part for part in parts if part not in (*said, *denied))
    state = _state(by, against, missing, asks, denied)
    return Confirming(
        mode=mode,
        state=state,
        by=by,
        against=against,
        beside_missing=missing,
        asks=asks if state in (OPEN, IF) else (),
        said=said,
        denied=denied,
        words=verdict_words(
            mode,
            by=by,
            against=against,
            missing=missing,
            asks=asks,
            denied=denied,
            remarks=[part for part in told if part in REMARKS],
        ),
    )


def _names(rules: Iterable[LabelRule]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(rule.check for rule in rules))


def _state(
    by: tuple[str, ...],
    against: tuple[str, ...],
    missing: tuple[Beside, ...],
    asks: tuple[str, ...],
    denied: tuple[str, ...],
) -> str:
    if against:
        return RULED_OUT
    if by and denied:
        return NOT_SO
    if not by or missing:
        return OPEN
    return IF if asks else CONFIRMED


def _missing(
    rules: list[tuple[LabelRule, RuleOutcome]], context: Context
) -> Iterable[Beside]:
    """Return what must still be seen beside the checks that failed, dead ones first."""
    failed = [(r, o) for r, o in rules if r.role == "backs" and o.has_failed]
    found: dict[str, Beside] = {}
    for rule, outcome in rules:
        beside = {"fails_out": "pass", "passes_out": "fail"}.get(rule.role)
        left = (rule.mode, rule.check) not in IF_TESTED
        if beside is None or not left or not applies(checks()[rule.check], context):
            continue
        where = _points_in_question(rule, failed)
        seen = outcome.has_passed if beside == "pass" else outcome.has_failed
        at = outcome.passed_points if beside == "pass" else outcome.failed_points
        if not seen or not _covers(at, where):
            found[rule.check] = Beside(rule.check, where, beside)
    live = {code: checks()[code].hazard == "live" for code in found}
    yield from sorted(
        found.values(),
        key=lambda item: (live[item.check], checks()[item.check].minutes),
    )


def _points_in_question(
    rule: LabelRule, failed: list[tuple[LabelRule, RuleOutcome]]
) -> tuple[str, ...]:
    """Return the points beside a failed check that say something about this fault.

    Of a core the one that the failed check runs through; of poles those that failed.
    """
    if rule.check == LOCALISING:
        cores = {CORE_OF.get(back.check, "") for back, _ in failed} - {""}
        named = [point for point in rule.points if point in cores]
        if named:
            return tuple(named)
    elif rule.check not in BY_CONDUCTOR:
        return ()
    poles = {
        point
        for back, outcome in failed
        if back.check in BY_CONDUCTOR
        for point in outcome.failed_points
    } - {""}
    return tuple(sorted(point.upper() for point in poles))


def _covers(found: frozenset[str], points: tuple[str, ...]) -> bool:
    return "" in found or {point_name(point) for point in points} <= found


def _prose(mode: str, check: str, context: Context) -> Iterable[str]:
    """Return the conditions beside a check that no rule reads."""
    ruled = {rule.check for rule in _rules_of()[mode]}
    other = {"type_1": "type 2:", "type_2": "type 1:"}.get(
        str(context.get("connector")), "-"
    )
    for link in catalogue.check_modes():
        if (link.mode, link.check, link.confirms) == (mode, check, True):
            for part in link.beside.split(";"):
                told = part.strip()
                said = any(code in told for code in ruled) or told.startswith(other)
                if told and not said:
                    yield told
