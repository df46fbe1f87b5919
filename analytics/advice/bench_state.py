"""Where a case stands on the bench: what was found, and whether mains may be applied.

A safety rule and no score. The proof that the unit is dead holds until something takes
it away; a finding that fails the inspection as a gate keeps the gate shut, whatever
else has passed, until a later inspection says of that very finding that it was seen to.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from analytics.advice.check_information import NOT_ISOLATED
from analytics.advice.checks_at_hand import PROVED_DEAD, RECORDS_ONLY
from analytics.advice.confirming import Confirming, confirmed_modes
from analytics.advice.gate import (
    INCOMPLETE,
    CheckState,
    JudgedReading,
    check_states,
    gate_is_open,
    point_name,
)
from analytics.advice.isolation import isolations, not_isolated
from analytics.advice.limits import Context
from analytics.advice.proof_of_dead import NOT_PROVED, is_energised, why_not_safe
from ingest.catalogue import checks, codes

INSPECTION: Final = "visual_inspection"
# Findings with which the inspection fails as a gate, and what must be seen to first.
# Whether damage reaches a core or a live part no finding says: the strict side stands.
# Common practice, no source.
SHUTS_THE_GATE: Final[Mapping[str, str]] = {
    "water_inside": "dried, and the way in found",
    "cable_damaged": "replaced, or seen not to reach a core",
    "housing_damaged": "put right, or seen to leave no live part in reach",
    "conductor_loose": "on its terminal at the marked torque",
    "conductor_on_wrong_terminal": "on its own terminal",
    "terminal_discoloured": "renewed, and the cause of the heat found",
    "pin_discoloured": "renewed, and the cause of the heat found",
}
OPEN: Final = "open"


@dataclass(frozen=True, slots=True)
class GateReason:
    """Why a gate check keeps mains off.

    `outcome` is as in `CheckState`, or `open` where nothing counts that was recorded.
    """

    check: str
    outcome: str
    missing_points: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class BenchState:
    """All that the readings and findings of one case say so far.

    `outcomes` is as `next_check` takes it; `chances` as `update_probabilities` takes
    it: near a limit the probability of a fail of the worst point. `gate` has one
    reason for each gate check that has not passed; `not_safe` says why the unit does
    not count as proved dead, and is empty where it does. `verdicts` holds every mode
    that a reading backs or rules out, `isolations` the checks that must be seen beside
    a failed one, as `next_check` takes them.
    """

    outcomes: dict[str, str]
    states: dict[str, CheckState]
    chances: dict[str, str | float]
    proved_safe: bool
    energised: bool
    gate: tuple[GateReason, ...]
    not_safe: str
    verdicts: tuple[Confirming, ...]
    isolations: dict[str, tuple[str, ...]]

    @property
    def gate_is_open(self) -> bool:
        """Whether every gate check has passed and the unit is still proved dead."""
        return self.proved_safe and gate_is_open(self.outcomes)


def bench_state(
    readings: Iterable[JudgedReading],
    context: Context,
    *,
    findings: Iterable[str] = (),
    error_words: Iterable[str] = (),
    repaired: bool = False,
    opened: Iterable[float] = (),
    day: str | None = None,
    technician: str | None = None,
    answers: Iterable[str] = (),
    denied: Iterable[str] = (),
) -> BenchState:
    """Return where a case stands.

    Parameters
    ----------
    readings : iterable of JudgedReading
        All readings of one case, of one unit. An inspection whose `point` is the code
        of a finding speaks of that finding alone: passed, it was seen to.
    context : mapping
        Facts about the unit, as `needed_points` takes them.
    findings : iterable of str
        Intake findings.
    error_words : iterable of str
        Error words of the charger.
    repaired : bool
        True once a repair was made, also before the first reading after it.
    opened : iterable of float
        When the unit was opened again, in the terms of `JudgedReading.order`; what
        comes at the same moment comes after it.
    day, technician : str, optional
        Of now: a proof of another day, or by someone else, does not hold.
    answers, denied : iterable of str
        What the technician said yes to, of `Confirming.asks`, and what was answered no.

    Raises
    ------
    ValueError
        If a reading names no known check or stage, or a finding is not known.
    """
    ordered = sorted(readings, key=lambda reading: reading.order)
    found = tuple(dict.fromkeys(findings))
    unknown = [code for code in found if code not in codes("findings")]
    if unknown:
        raise ValueError(f"no finding is called {', '.join(unknown)}")
    about = [r for r in ordered if not _finding_of(r)]
    states = check_states(about, context, repaired=repaired)
    named = {_finding_of(reading) for reading in ordered}
    left = tuple(
        code
        for code in SHUTS_THE_GATE
        if (code in found or code in named) and not _seen_to(code, ordered)
    )
    if left:
        states[INSPECTION] = _not_passed(states.get(INSPECTION), left)
    outcomes = {check: state.outcome for check, state in states.items()}
    not_safe = why_not_safe(
        ordered, opened=tuple(opened), repaired=repaired, now=(day, technician)
    )
    if not not_safe and outcomes.get(PROVED_DEAD) != "pass":
        not_safe = NOT_PROVED
    said = {INSPECTION: bool(found), RECORDS_ONLY: any(error_words)}
    verdicts = confirmed_modes(about, context, answers=answers, denied=denied)
    chances = {
        check: _chance(check, state, about)
        for check, state in states.items()
        if not said.get(check, False)
    }
    nothing = dict.fromkeys(not_isolated(verdicts, outcomes), NOT_ISOLATED)
    return BenchState(
        outcomes=outcomes,
        states=states,
        chances=chances | {c: word for c, word in nothing.items() if c in chances},
        proved_safe=not not_safe,
        energised=is_energised(ordered, context),
        gate=tuple(_reasons(states, left)),
        not_safe=not_safe,
        verdicts=verdicts,
        isolations=isolations(verdicts),
    )


def _finding_of(reading: JudgedReading) -> str | None:
    """Return the finding that an inspection speaks of alone, None for the whole."""
    point = point_name(reading.point)
    alone = reading.check == INSPECTION and point in SHUTS_THE_GATE
    return point if alone else None


def _seen_to(finding: str, ordered: Sequence[JudgedReading]) -> bool:
    """Tell whether the last inspection that speaks of a finding has passed.

    After a repair the whole inspection is made anew, and speaks of it too.
    """
    said = [
        reading.outcome == "pass"
        for reading in ordered
        if reading.check == INSPECTION
        and reading.stage != "on_site"
        and (
            _finding_of(reading) == finding
            or (_finding_of(reading) is None and reading.stage == "after_repair")
        )
    ]
    return bool(said) and said[-1]


def _not_passed(state: CheckState | None, findings: tuple[str, ...]) -> CheckState:
    # Not looked inside yet: the inspection is still to be done. Done: it has failed.
    if state is None or state.outcome in (INCOMPLETE, "not_done"):
        return CheckState(INCOMPLETE, findings)
    return CheckState("fail", state.missing_points)


def _chance(
    check: str, state: CheckState, ordered: Iterable[JudgedReading]
) -> str | float:
    """Return the outcome, or the chance of a fail of the worst point where known."""
    last = {
        (
            reading.condition or "",
            point_name(reading.point),
        ): reading.probability_of_fail
        for reading in ordered
        if reading.check == check and reading.outcome == state.outcome
    }
    known = [chance for chance in last.values() if not math.isnan(chance)]
    if state.outcome not in ("pass", "fail") or len(known) < len(last) or not known:
        return state.outcome
    return max(known)


def _reasons(
    states: Mapping[str, CheckState], findings: tuple[str, ...]
) -> Iterable[GateReason]:
    for check in checks().values():
        state = states.get(check.code, CheckState(OPEN, ()))
        if check.gate and state.outcome != "pass":
            why = _WHY.get(state.outcome, "it has not passed")
            if state.outcome == INCOMPLETE:
                why = why.format(points=", ".join(state.missing_points))
            if check.code == INSPECTION and findings:
                why = "; ".join(map(_about_finding, findings))
            yield GateReason(
                check.code,
                state.outcome,
                state.missing_points,
                f"{check.label}: {why}.",
            )


_WHY: Final[Mapping[str, str]] = {
    OPEN: "not done yet",
    "not_done": "recorded as not done",
    "fail": "failed; put it right and repeat it",
    "undefined": "the reading is neither pass nor fail; measure again",
    INCOMPLETE: "points missing: {points}",
}


def _about_finding(finding: str) -> str:
    label = codes("findings")[finding].label
    words = (
        f"{label[0].lower()}{label[1:]}; no mains until it is {SHUTS_THE_GATE[finding]}"
        " and noted as seen to"
    )
    if finding == "conductor_on_wrong_terminal":
        words += "; a neutral used as earth is a fault whatever else works"
    return words
