"""What a return is likely to have, and which check comes next."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from analytics.advice.checks_at_hand import ChecksAtHand
from analytics.advice.evaluation import is_enough
from analytics.advice.first_check import RankedCheck, update_probabilities
from analytics.advice.reading_reasons import reading_reasons
from analytics.advice.suggestions import Suggestions
from analytics.rollup.snapshot import Snapshot
from dashboard import text
from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row
from dashboard.queries.intake import AT_THE_BENCH, Intake
from dashboard.queries.suggest_bench import (
    LEFT_OFF,
    bench_of,
    checks_next,
    plug_may_be_off,
)
from dashboard.queries.suggest_checks import (
    ROUNDING,
    check_rows,
    check_table,
    findings_open,
    first_outcomes,
    gate_rows,
    table_words,
)
from dashboard.queries.suggest_few import few_cases_hints
from dashboard.queries.suggest_reasons import reason_rows
from dashboard.queries.suggest_verdicts import (
    place_rows,
    protocol_row,
    repair_row,
    verdict_rows,
)
from dashboard.queries.trained import trained_suggester
from dashboard.queries.unit_facts import unit_on_bench
from dashboard.settings import Settings
from ingest import catalogue

__all__ = ["AT_THE_BENCH", "Intake", "suggest"]

METHOD = (
    "Share of each confirmed mode among returns with like evidence (naive Bayes blocks "
    "and a regression on the words), then the check with the best chance to confirm a "
    "mode for each minute, gate and set-up minutes counted. Advice, never a verdict: a "
    "cause is confirmed by its check alone."
)
SHOWN_MODES = 5
TOO_LITTLE = "Too little to say: do the intake checks."
MOVED = (
    "The checks noted moved the shares; the like cases are those of the intake alone."
)
POWERED = (
    "The unit was powered for a check noted below: isolate it and prove it dead again "
    "before anything is touched."
)
NOT_OFFERED = "It is not among the checks offered now: ask about one of those."


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
        Rows: mode, label, component, severity, probability, n_like, against, reasons
        (what, log_odds, factor, n_seen, n_of; the log-odds add up to
        ln(probability / probability of `against`)). More: checks, first_check (what
        each outcome of it would mean), verdicts (modes that a reading backs or rules
        out: a mode is confirmed by its check alone), places (where along the path),
        protocol (what a claim still needs, None without one), after_repair (what must
        pass before the unit goes back, None before a repair; the checks are then those
        still to pass), what_if (what a check asked about would tell), hints,
        enough_evidence, too_little (in words, None where it is enough), source,
        table_source (of the chances that checks fail),
        n_cases, ask_next, readings, moved, unit, gate (check, label, outcome,
        missing_points, why), findings_open, proved_safe, energised, powered (what to
        do where the unit was powered, else None), gate_is_open, caution.

    Raises
    ------
    UsageError
        A reading with a unit that does not fit, or of a check that does not apply.
    NotPublishedError
        The suggester beside the figures cannot be used.
    """
    unit = unit_on_bench(snapshot, intake, settings)
    found = _found(snapshot.suggester_folder, tuple(unit.intake.evidence().items()))
    bench = bench_of(intake, unit.context)
    state = bench.of_fault
    table = check_table(snapshot, unit.context)
    at_intake = {str(cause): p for cause, p in found.probabilities.items()}
    probabilities = update_probabilities(at_intake, table, state.chances)
    plug_off = plug_may_be_off(intake)
    checks = checks_next(probabilities, table, bench, plugs_first=plug_off)
    enough = is_enough(probabilities, _prior(snapshot.suggester_folder))
    moved = any(
        abs(probabilities[mode] - at_intake[mode]) > ROUNDING for mode in probabilities
    )
    return Answer(
        about=snapshot.about,
        filters=Filters(),
        method=METHOD,
        rows=_rows(found, probabilities, table, state.chances),
        more={
            "checks": check_rows(checks, unit.context, bench.now),
            "first_check": first_outcomes(checks, probabilities, table),
            "enough_evidence": enough,
            "too_little": None if enough else TOO_LITTLE,
            "source": found.source,
            "table_source": table_words(snapshot, unit.context),
            "n_cases": found.n_cases,
            "ask_next": [
                {"symptom": code, "label": catalogue.codes("symptoms")[code].label}
                for code in found.ask_next
            ],
            "readings": bench.readings.rows(),
            "moved": MOVED if state.chances and moved else None,
            "unit": unit.row(),
            "what_if": _what_if(intake.what_if, checks, probabilities, table),
            "hints": [
                *([LEFT_OFF] if plug_off else []),
                *few_cases_hints(snapshot, found.n_cases),
            ],
            "verdicts": verdict_rows(bench),
            "places": place_rows(bench, unit.context),
            "protocol": protocol_row(intake, bench, unit.context, at_intake),
            "after_repair": repair_row(intake, bench, unit.context),
            "gate": gate_rows(bench.now),
            "findings_open": findings_open(intake.finding, bench.judged)
            if bench.inspection_waits
            else [],
            "proved_safe": bench.now.proved_safe,
            "energised": bench.now.energised,
            "powered": POWERED if bench.now.energised else None,
            "gate_is_open": bench.now.gate_is_open,
            "caution": text.CAUTION,
        },
        invented=snapshot.about.is_invented,
    )


@lru_cache(maxsize=4)
def _prior(folder: Path) -> Mapping[str, float]:
    return {str(cause): p for cause, p in trained_suggester(folder).prior.items()}


@lru_cache(maxsize=64)
def _found(folder: Path, evidence: tuple[tuple[str, object], ...]) -> Suggestions:
    # Remembered while the checks of one return are noted: readings are not in it.
    suggester = trained_suggester(folder)
    return suggester.suggest(
        dict(evidence), top=len(suggester.causes), with_reasons=False
    )


def _what_if(
    asked: str | None,
    checks: Sequence[RankedCheck],
    probabilities: Mapping[str, float],
    table: ChecksAtHand,
) -> Row | None:
    if asked is None:
        return None
    # What a check would tell does not depend on what it waits for.
    own = [replace(item, blocked_by=()) for item in checks if item.check == asked]
    found = first_outcomes(own, probabilities, table)
    return found or {"check": asked, "outcomes": [], "words": NOT_OFFERED}


def _rows(
    found: Suggestions,
    probabilities: Mapping[str, float],
    table: ChecksAtHand,
    chances: Mapping[str, str | float],
) -> list[Row]:
    n_like = {str(item.cause): item.n_like for item in found.ranked}
    order = sorted(probabilities, key=lambda mode: (-probabilities[mode], mode))
    known = catalogue.failure_modes()
    rows: list[Row] = []
    for mode in order[:SHOWN_MODES]:
        against = next((other for other in order if other != mode), None)
        reasons: list[Row] = []
        if against:
            of_checks = reading_reasons(table, chances, mode, against)
            reasons = reason_rows(found, mode, against, of_checks)
        rows.append(
            {
                "mode": mode,
                "label": known[mode].label,
                "component": known[mode].component,
                "severity": known[mode].severity,
                "probability": probabilities[mode],
                "n_like": n_like[mode],
                "against": against,
                "reasons": reasons,
            }
        )
    return rows
