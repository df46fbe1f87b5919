"""What is left to do before "no fault found", or a fault of the vehicle, may be said.

Neither is confirmed by a check: they are outcomes of the whole protocol
(`protocol.csv`; common practice, no source), or said for a stated reason.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from analytics.advice.check_table import applies
from analytics.advice.gate import JudgedReading, needed_points
from analytics.advice.label_support import COMES_AND_GOES, OUTSIDE_MODES
from analytics.advice.limits import Context
from analytics.advice.rule_outcomes import (
    PlacedReading,
    RuleOutcome,
    placed_readings,
    rule_outcome,
)
from ingest.catalogue import (
    LabelRule,
    ProtocolCheck,
    check_modes,
    checks,
    failure_modes,
    protocol,
)

LIKELIEST: Final = 3
TWICE: Final = 2
VEHICLE: Final = "vehicle_side_fault"
ELSEWHERE: Final = "the vehicle fails on another good charger"


@dataclass(frozen=True, slots=True)
class Step:
    """A step that is not done: any one of `checks`, at `points`, flexed where said."""

    checks: tuple[str, ...]
    points: tuple[str, ...]
    flexed: bool

    @property
    def words(self) -> str:
        """The step, as a line of a list."""
        said = " or ".join(checks()[code].label for code in self.checks)
        where = f" ({', '.join(self.points)})" if self.points else ""
        return f"{said}{where}{', flexed' if self.flexed else ''}"


@dataclass(frozen=True, slots=True)
class ProtocolState:
    """How far the whole protocol is done.

    `state` is `met`, `met_if` (by all readings; `asks` holds what none can say),
    `contradicted` (a reading failed, or what was asked was answered no), `left` or
    `by_reason`. `failed` holds the checks whose last reading failed, `missing` the
    steps that have not passed, `repeat` the confirming checks of the three likeliest
    modes that have not passed twice. `said` and `denied` hold what was asked and
    answered yes and no.
    """

    outcome: str
    state: str
    missing: tuple[Step, ...]
    repeat: tuple[str, ...]
    failed: tuple[str, ...]
    asks: tuple[str, ...]
    said: tuple[str, ...]
    denied: tuple[str, ...]
    words: str


def protocol_left(
    readings: Iterable[JudgedReading],
    context: Context,
    *,
    symptoms: Iterable[str] = (),
    probabilities: Mapping[str, float] | None = None,
    outcome: str = "no_fault_found",
    reason: str | None = None,
    answers: Iterable[str] = (),
    denied: Iterable[str] = (),
) -> ProtocolState:
    """Return what the protocol still asks for.

    Parameters
    ----------
    readings : iterable of JudgedReading
        All readings of the case.
    context : mapping
        Facts about the unit; `connector`, `phases`, `supply_system` and
        `ground_fault_device` are used.
    symptoms : iterable of str
        As reported; those that come and go ask for the soak.
    probabilities : mapping of str to float, optional
        Of each mode as known at intake: the confirming checks of the three likeliest
        are to be repeated. Without them nothing is, and `words` says so.
    outcome : {"no_fault_found", "vehicle_side_fault"}
    reason : str, optional
        Why it is said without the protocol.
    answers, denied : iterable of str
        Those of `asks` to which the technician said yes, and those answered no.

    Raises
    ------
    ValueError
        If the outcome is neither of the two.
    """
    if outcome not in OUTSIDE_MODES:
        raise ValueError(f"outcome must be one of {', '.join(OUTSIDE_MODES)}")
    placed = placed_readings(readings)
    failed = tuple(
        code
        for code in checks()
        if _outcome_of(code, placed, context, mode=outcome).has_failed
    )
    missing = tuple(_missing(placed, context, frozenset(symptoms), outcome))
    repeat = tuple(_to_repeat(placed, context, probabilities or {}))
    stated = (reason or "").strip()
    wanted = (ELSEWHERE,) if outcome == VEHICLE else ()
    yes, no = (
        tuple(ask for ask in wanted if ask in frozenset(given))
        for given in (answers, denied)
    )
    asks = tuple(ask for ask in wanted if ask not in (*yes, *no))
    state = "met_if" if asks else "met"
    if failed or no:
        state = "contradicted"
    elif missing or repeat:
        state = "left"
    if stated and state in ("contradicted", "left"):
        state = "by_reason"
    return ProtocolState(
        outcome=outcome,
        state=state,
        missing=missing,
        repeat=repeat,
        failed=failed,
        asks=asks,
        said=yes,
        denied=no,
        words=_words(
            outcome, missing, repeat, failed, asks, no, stated, bool(probabilities)
        ),
    )


def _outcome_of(
    check: str,
    placed: Iterable[PlacedReading],
    context: Context,
    *,
    mode: str,
    flexed: bool = False,
) -> RuleOutcome:
    rule = LabelRule(
        mode=mode,
        check=check,
        role="protocol",
        points=(),
        side=None,
        counts="last",
        stages="bench",
        flexed=flexed,
        source="common practice, no source",
    )
    return rule_outcome(rule, placed, context)


def _missing(
    placed: list[PlacedReading],
    context: Context,
    symptoms: frozenset[str],
    outcome: str,
) -> Iterable[Step]:
    asked: dict[str, list[ProtocolCheck]] = {}
    for step in protocol():
        if applies(checks()[step.check], context) and _is_for(step, symptoms, outcome):
            asked.setdefault(step.group, []).append(step)
    for steps in asked.values():
        if not any(_is_done(step, placed, context, outcome) for step in steps):
            codes = tuple(step.check for step in steps)
            points = needed_points(codes[0], context)
            yield Step(codes, points, any(step.flexed for step in steps))


def _is_for(step: ProtocolCheck, symptoms: frozenset[str], outcome: str) -> bool:
    # A d.c. trip that the unit does not have was taken out by `applies`.
    if step.only_for == "comes_and_goes":
        return bool(symptoms & set(COMES_AND_GOES))
    return step.only_for in (None, "rdc_dd_6", outcome)


def _is_done(
    step: ProtocolCheck, placed: list[PlacedReading], context: Context, outcome: str
) -> bool:
    found = _outcome_of(step.check, placed, context, mode=outcome, flexed=step.flexed)
    if step.result == "passed":
        return found.has_passed_whole
    return found.is_read and not found.has_failed


def _to_repeat(
    placed: list[PlacedReading], context: Context, probabilities: Mapping[str, float]
) -> Iterable[str]:
    modes = [mode for mode in probabilities if mode not in OUTSIDE_MODES]
    modes.sort(key=lambda mode: (-probabilities[mode], mode))
    likeliest = modes[:LIKELIEST]
    wanted = dict.fromkeys(
        link.check
        for mode in likeliest
        for link in check_modes()
        if link.mode == mode
        and link.confirms
        and applies(checks()[link.check], context)
    )
    for check in wanted:
        found = _outcome_of(check, placed, context, mode=likeliest[0])
        if not (found.has_passed_whole and _times(check, placed) >= TWICE):
            yield check


def _times(check: str, placed: Iterable[PlacedReading]) -> int:
    """Return how often each point of a check was read, the least of them."""
    times: dict[str, int] = {}
    for item in placed:
        if item.reading.check == check and item.reading.stage != "on_site":
            times[item.point] = times.get(item.point, 0) + 1
    return min(times.values(), default=0)


def _words(
    outcome: str,
    missing: tuple[Step, ...],
    repeat: tuple[str, ...],
    failed: tuple[str, ...],
    asks: tuple[str, ...],
    no: tuple[str, ...],
    reason: str,
    has_probabilities: bool,  # noqa: FBT001 - one fact of many that the words tell
) -> str:
    label = failure_modes()[outcome].label
    names = ", ".join(checks()[code].label for code in failed)
    told = [f"{names} failed, which speaks against {label}."] if failed else []
    told += [f"Not so: {'; '.join(no)}, which speaks against {label}."] if no else []
    if missing:
        told.append(f"Not passed yet: {'; '.join(step.words for step in missing)}.")
    if repeat:
        again = ", ".join(checks()[code].label for code in repeat)
        told.append(f"To be repeated, for the likeliest modes: {again}.")
    if not has_probabilities:
        told.append("Repeat the confirming checks of the three likeliest modes too.")
    only_if = f" if {'; '.join(asks)}" if asks else ""
    is_open = bool(failed or no or missing or repeat)
    if reason and is_open:
        told += [f"Only{only_if}."] if asks else []
        return " ".join([f"{label} for a stated reason: {reason}.", *told])
    if not is_open:
        start = f"The whole protocol passed: {label} may be said{only_if}."
        return " ".join([start, *told])
    return " ".join([f"{label} may not be said yet.", *told])
