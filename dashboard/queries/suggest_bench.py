"""What the readings of one unit say: of its fault, and of mains on it now.

A repair parts the two: what was read before it speaks of the fault alone, and only
what is read after it opens the gate again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from analytics.advice.after_repair import AFTER, MustPass, must_pass, still_to_pass
from analytics.advice.bench_state import INSPECTION, BenchState, bench_state
from analytics.advice.checks_at_hand import ChecksAtHand
from analytics.advice.first_check import UNSETTLED, RankedCheck, next_check
from analytics.advice.gate import CheckState, JudgedReading
from dashboard.queries.intake import Intake
from dashboard.queries.suggest_readings import JudgedReadings
from dashboard.queries.unit_facts import Context
from ingest import catalogue

# An internal plug left off by whoever opened the unit explains a dead indicator;
# common practice, no source.
DARK = ("display_dead", "no_power_indication")
PLUGS = "internal_connectors_seated"
LEFT_OFF = (
    "Opened before it arrived, and its indicator is dead: a plug inside, left off by "
    "whoever opened it, would explain that. Look at the plugs first, once it is proved "
    "dead (common practice, no source)."
)


@dataclass(frozen=True, slots=True)
class Bench:
    """Where the work on one unit stands.

    Attributes
    ----------
    readings, after : JudgedReadings
        Those taken while looking for the fault, and those after the repair.
    of_fault, now : BenchState
        What the first say of the fault, and what holds of the unit now; the same
        until a repair was made.
    wanted : tuple of MustPass or None
        What must pass after the repair; None where nothing was repaired.
    left : mapping of MustPass to CheckState or None
        Those that have not passed yet.
    """

    readings: JudgedReadings
    after: JudgedReadings
    of_fault: BenchState
    now: BenchState
    wanted: tuple[MustPass, ...] | None
    left: Mapping[MustPass, CheckState | None]

    @property
    def judged(self) -> list[JudgedReading]:
        """All readings of the unit, in the order of time."""
        return [*self.readings.judged, *self.after.judged]

    @property
    def inspection_waits(self) -> bool:
        """Whether a finding still keeps mains off."""
        return any(reason.check == INSPECTION for reason in self.now.gate)


def bench_of(intake: Intake, context: Context) -> Bench:
    """Judge the readings of an intake, and say where the work stands.

    Raises
    ------
    UsageError
        A unit that does not fit, or a check that does not apply to the unit.
    """
    readings = JudgedReadings(intake.readings(), context)
    after = JudgedReadings(
        intake.after_readings(), context, stage=AFTER, after=len(intake.reading)
    )
    of_fault = bench_state(
        readings.judged,
        context,
        findings=intake.finding,
        error_words=intake.error_word,
        answers=intake.met,
        denied=intake.not_met,
    )
    if intake.mended is None or intake.disposition is None:
        return Bench(readings, after, of_fault, of_fault, None, {})
    wanted = must_pass(
        intake.mended, intake.disposition, context, symptoms=intake.symptom
    )
    now = bench_state(
        [*readings.judged, *after.judged],
        context,
        findings=intake.finding,
        error_words=intake.error_word,
        repaired=True,
    )
    return Bench(
        readings=readings,
        after=after,
        of_fault=of_fault,
        now=_since_repair(now, after.judged),
        wanted=wanted,
        left=still_to_pass(wanted, after.judged, context),
    )


def _since_repair(now: BenchState, after: Sequence[JudgedReading]) -> BenchState:
    # Of the gate only what came after counts anyway.
    read = {reading.check for reading in after}
    gate = {code for code, check in catalogue.checks().items() if check.gate}
    counts = gate | read
    return replace(
        now,
        outcomes={c: o for c, o in now.outcomes.items() if c in counts},
        states={c: s for c, s in now.states.items() if c in counts},
    )


def checks_next(
    probabilities: Mapping[str, float],
    table: ChecksAtHand,
    bench: Bench,
    *,
    plugs_first: bool,
) -> list[RankedCheck]:
    """Return the checks that may be done next; after a repair those that must pass."""
    now = bench.now
    if bench.wanted is None:
        ranked = next_check(
            probabilities,
            table,
            done=now.outcomes,
            proved_safe=now.proved_safe,
            energised=now.energised,
            isolations=now.isolations,
        )
        return _plugs_first(ranked) if plugs_first else ranked
    ranked = next_check(
        probabilities,
        table,
        done={c: o for c, o in now.outcomes.items() if o not in UNSETTLED},
        proved_safe=now.proved_safe,
        energised=now.energised,
    )
    wanted = [item.check for item in bench.wanted]
    found = [
        replace(item, opens=item.opens if item.opens in wanted else None)
        for item in ranked
        if item.check in wanted
    ]
    # Whether it may be done is settled; the order is that of the list.
    return sorted(found, key=lambda i: (bool(i.blocked_by), wanted.index(i.check)))


def plug_may_be_off(intake: Intake) -> bool:
    """Tell whether a plug left off would explain what is known at intake."""
    return intake.opened_before_arrival == "yes" and bool(set(DARK) & {*intake.symptom})


def _plugs_first(ranked: Sequence[RankedCheck]) -> list[RankedCheck]:
    # Only where it is free already: it never comes before the unit is proved dead.
    return sorted(ranked, key=lambda i: i.check != PLUGS or bool(i.blocked_by))
