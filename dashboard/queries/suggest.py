"""What a return is likely to have, and which check comes next."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from analytics.advice.check_table import check_hazard, default_check_table
from analytics.advice.first_check import RankedCheck, next_check, update_probabilities
from analytics.advice.gate import JudgedReading, check_outcomes, gate_is_open
from analytics.advice.readings import evaluate_reading, expected_window
from analytics.advice.suggest import FaultSuggester
from analytics.advice.suggestions import Suggestion
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.intake import Intake, TypedReading
from dashboard.settings import Settings
from ingest import catalogue
from ingest.errors import NotPublishedError, UsageError

__all__ = ["Intake", "suggest"]

METHOD = (
    "Share of each confirmed mode among returns with like evidence (naive Bayes blocks "
    "and a regression on the words), then the check with the best chance to confirm a "
    "mode for each minute, gate and set-up minutes counted. Advice, never a verdict: a "
    "cause is confirmed by its check alone."
)
SHOWN_MODES = 5
SHOWN_REASONS = 4
# Readings of this session are taken while looking for the fault.
STAGE = "diagnosis"
PROVED_DEAD = "proved_dead"

Context = Mapping[str, object]


def suggest(snapshot: Snapshot, intake: Intake, *, settings: Settings) -> Answer:
    """Return likely modes with what speaks for them, and the next checks.

    Parameters
    ----------
    snapshot : Snapshot
    intake : Intake
    settings : Settings
        The maker's values of the model, for expected windows.

    Returns
    -------
    Answer
        Rows: mode, label, component, severity, probability, n_like, reasons. More:
        checks, enough_evidence, source, n_cases, ask_next, readings, gate, caution.

    Raises
    ------
    UsageError
        A reading with a unit that does not fit, or of a check that does not apply.
    NotPublishedError
        The suggester beside the figures cannot be used.
    """
    suggester = _suggester(snapshot.suggester_folder)
    found = suggester.suggest(intake.evidence(), top=SHOWN_MODES)
    context = _context(intake, settings)
    readings = [
        _judged(reading, context, order)
        for order, reading in enumerate(intake.readings())
    ]
    outcomes = check_outcomes((judged for judged, _ in readings), context)
    in_order = [judged for judged, _ in readings]
    proved_safe = _still_proved_safe(in_order)
    energised = _is_energised(in_order, context)
    table = default_check_table(context)
    probabilities = update_probabilities(
        {str(cause): p for cause, p in found.probabilities.items()}, table, outcomes
    )
    checks = next_check(
        probabilities,
        table,
        done=outcomes,
        proved_safe=proved_safe,
        energised=energised,
    )
    return Answer(
        about=snapshot.about,
        filters=Filters(),
        method=METHOD,
        rows=_rows(suggester, intake, probabilities),
        more={
            "checks": [_check(item, context) for item in checks],
            "enough_evidence": found.enough_evidence,
            "source": found.source,
            "n_cases": found.n_cases,
            "ask_next": [
                {"symptom": code, "label": catalogue.codes("symptoms")[code].label}
                for code in found.ask_next
            ],
            "readings": [row for _, row in readings],
            "gate": {
                code: outcomes.get(code, "open")
                for code, check in catalogue.checks().items()
                if check.gate
            },
            "energised": energised,
            "gate_is_open": gate_is_open(outcomes) and proved_safe,
            "caution": text.CAUTION,
        },
        invented=snapshot.about.is_invented,
    )


@lru_cache(maxsize=4)
def _suggester(folder: Path) -> FaultSuggester:
    try:
        return FaultSuggester.load(folder)
    except ValueError as error:
        raise NotPublishedError(
            f"The fault suggestion in {folder} cannot be used: {error}",
            hint="Run `mendfleet publish --train`.",
        ) from None


def _context(intake: Intake, settings: Settings) -> Context:
    known: dict[str, object] = {}
    if intake.connector:
        known["connector"] = intake.connector
    model = settings.models.get(intake.model or "")
    if model:
        known |= model.model_dump(exclude_none=True)
    return known


def _judged(
    reading: TypedReading, context: Context, order: int
) -> tuple[JudgedReading, Row]:
    value = reading.value if reading.is_outcome else reading.number
    try:
        verdict = evaluate_reading(
            reading.check,
            value,
            reading.unit or (None if reading.is_outcome else _unit(reading.check)),
            stage=STAGE,
            context=dict(context) | ({"point": reading.point} if reading.point else {}),
        )
    except ValueError as error:
        raise UsageError(
            f"Reading {reading.check}={reading.value}{reading.unit or ''}: {error}.",
            hint="Correct the reading, or leave it out.",
        ) from None
    judged = JudgedReading(
        check=reading.check,
        outcome=verdict.outcome,
        stage=STAGE,
        point=reading.point,
        order=order,
        has_value=not reading.is_outcome,
    )
    return judged, {
        "check": reading.check,
        "point": reading.point,
        "value": reading.value,
        "unit": reading.unit,
        "outcome": verdict.outcome,
        "window": expected_window(reading.check, context).text,
        "meaning": verdict.meaning,
    }


def _still_proved_safe(readings: Sequence[JudgedReading]) -> bool:
    # A failed reading after the unit was proved dead takes that proof away for
    # everything live: what failed may have changed where mains can be.
    safe = False
    for reading in readings:
        if reading.check == PROVED_DEAD:
            safe = reading.outcome == "pass"
        elif reading.outcome == "fail":
            safe = False
    return safe


def _is_energised(readings: Sequence[JudgedReading], context: Context) -> bool:
    # From the first live check on mains may be present, until proved dead again.
    energised = False
    for reading in readings:
        if reading.check == PROVED_DEAD:
            energised = energised and reading.outcome != "pass"
        elif check_hazard(reading.check, context) == "live":
            energised = energised or reading.outcome != "not_done"
    return energised


def _unit(check: str) -> str:
    return catalogue.checks()[check].unit


def _rows(
    suggester: FaultSuggester, intake: Intake, probabilities: Mapping[str, float]
) -> list[Row]:
    # The readings move the shares; why and like cases are those of the intake.
    everything = suggester.suggest(intake.evidence(), top=len(probabilities))
    by_cause = {str(item.cause): item for item in everything.ranked}
    order = sorted(probabilities, key=lambda mode: (-probabilities[mode], mode))
    known = catalogue.failure_modes()
    return [
        {
            "mode": mode,
            "label": known[mode].label,
            "component": known[mode].component,
            "severity": known[mode].severity,
            "probability": probabilities[mode],
            "n_like": by_cause[mode].n_like,
            "reasons": _reasons(by_cause[mode]),
        }
        for mode in order[:SHOWN_MODES]
    ]


def _reasons(item: Suggestion) -> list[str]:
    telling = sorted(item.reasons, key=lambda reason: -abs(reason.log_odds))
    return [reason.sentence for reason in telling[:SHOWN_REASONS]]


def _check(item: RankedCheck, context: Context) -> Row:
    check = catalogue.checks()[item.check]
    return {
        "check": item.check,
        "label": check.label,
        "measures": check.measures,
        "points": check.points,
        "window": expected_window(item.check, context).text,
        "unit": check.unit,
        "hazard": item.hazard,
        "hazard_words": catalogue.codes("hazards")[item.hazard].label,
        "caution": check.caution,
        "minutes": item.minutes,
        "confirm_probability": item.confirm_probability,
        "confirm_per_minute": item.confirm_per_minute,
        "bits": item.bits,
        "bits_per_minute": item.bits_per_minute,
        "blocked_by": list(item.blocked_by),
    }
