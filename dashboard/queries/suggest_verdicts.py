"""What may be said of a case as shown: verdicts, places, the protocol, the repair."""

from collections.abc import Mapping

from analytics.advice.after_repair import NOT_RETURNED, MustPass
from analytics.advice.check_table import check_hazard
from analytics.advice.checks_at_hand import BARRED, PROVED_DEAD
from analytics.advice.confirming import CONFIRMED, Confirming
from analytics.advice.gate import CheckState
from analytics.advice.localisation import Place, localise
from analytics.advice.protocol import protocol_left
from analytics.advice.readings import expected_window
from dashboard.queries.answer import Row
from dashboard.queries.intake import Intake
from dashboard.queries.suggest_bench import Bench
from dashboard.queries.unit_facts import Context
from ingest import catalogue

NOT_DONE = "not_done"


def verdict_rows(bench: Bench) -> list[Row]:
    """Return every mode that a reading backs or rules out, as the answer shows it."""
    return [_verdict_row(verdict) for verdict in bench.of_fault.verdicts]


def _verdict_row(verdict: Confirming) -> Row:
    return {
        "mode": verdict.mode,
        "label": catalogue.failure_modes()[verdict.mode].label,
        "state": verdict.state,
        "by": list(verdict.by),
        "against": list(verdict.against),
        "beside_missing": [beside.words for beside in verdict.beside_missing],
        "asks": list(verdict.asks),
        "met": list(verdict.said),
        "not_met": list(verdict.denied),
        "words": verdict.words,
    }


def place_rows(bench: Bench, context: Context) -> list[Row]:
    """Return where along the path the fault lies, by what was read before a repair."""
    return [_place_row(place) for place in localise(bench.readings.judged, context)]


def _place_row(place: Place) -> Row:
    return {
        "place": place.place,
        "checks": list(place.checks),
        "modes": list(place.modes),
        "words": place.words,
    }


def protocol_row(
    intake: Intake, bench: Bench, context: Context, at_intake: Mapping[str, float]
) -> Row | None:
    """Return what the protocol asks for before a claim; None where none is made."""
    if intake.claim is None:
        return None
    found = protocol_left(
        bench.readings.judged,
        context,
        symptoms=intake.symptom,
        probabilities=at_intake,
        outcome=intake.claim,
        reason=intake.claim_reason,
        answers=intake.met,
        denied=intake.not_met,
    )
    return {
        "claim": found.outcome,
        "label": catalogue.failure_modes()[found.outcome].label,
        "state": found.state,
        "missing": [step.words for step in found.missing],
        "repeat": list(found.repeat),
        "failed": list(found.failed),
        "asks": list(found.asks),
        "met": list(found.said),
        "not_met": list(found.denied),
        "words": found.words,
    }


def repair_row(intake: Intake, bench: Bench, context: Context) -> Row | None:
    """Return what must pass after the repair; None where nothing was repaired."""
    if bench.wanted is None or intake.mended is None:
        return None
    confirmed = any(
        (verdict.mode, verdict.state) == (intake.mended, CONFIRMED)
        for verdict in bench.of_fault.verdicts
    )
    rows = [_wanted_row(bench, wanted, context) for wanted in bench.wanted]
    return {
        "mode": intake.mended,
        "label": catalogue.failure_modes()[intake.mended].label,
        "disposition": intake.disposition,
        "is_confirmed": confirmed,
        "rows": rows,
        "readings": bench.after.rows(),
        "words": _repair_words(intake, rows, is_confirmed=confirmed),
    }


def _wanted_row(bench: Bench, wanted: MustPass, context: Context) -> Row:
    check = catalogue.checks()[wanted.check]
    state = _since_repair(bench, wanted)
    hazard = check_hazard(check.code, context)
    waits = hazard == BARRED and not bench.now.gate_is_open
    return {
        "check": check.code,
        "label": check.label,
        "why": wanted.why,
        "state": state.outcome,
        "needed_points": list(wanted.points),
        "missing_points": list(state.missing_points),
        "window": expected_window(check.code, context).text,
        "hazard": hazard,
        "hazard_words": catalogue.codes("hazards")[hazard].label,
        "caution": check.caution,
        "waits_for_gate": waits and state.outcome != "pass",
    }


def _since_repair(bench: Bench, wanted: MustPass) -> CheckState:
    if wanted in bench.left:
        return bench.left[wanted] or CheckState(NOT_DONE, wanted.points)
    # It has passed, and may still keep mains off: a finding, a proof that ended.
    if wanted.check == PROVED_DEAD and bench.now.not_safe:
        return CheckState(NOT_DONE, ())
    gate = {reason.check: reason.outcome for reason in bench.now.gate}
    return CheckState(gate.get(wanted.check, "pass"), ())


def _repair_words(intake: Intake, rows: list[Row], *, is_confirmed: bool) -> str:
    done = catalogue.codes("dispositions")[str(intake.disposition)]
    if intake.disposition in NOT_RETURNED:
        return f"{done.label}: it does not go back, so nothing has to pass."
    label = catalogue.failure_modes()[str(intake.mended)].label
    doubt = "" if is_confirmed else f" {label} was not confirmed by its check."
    left = [row for row in rows if row["state"] != "pass"]
    if not left:
        return (
            f"{done.label}: every check listed has passed ({len(rows)} of {len(rows)})."
            f"{doubt} Whether the unit goes back is for a qualified person to say."
        )
    failed = [str(row["label"]) for row in left if row["state"] == "fail"]
    again = (
        f" {', '.join(failed)} failed: repair it again, and begin the list anew."
        if failed
        else ""
    )
    return (
        f"{done.label}: {len(rows) - len(left)} of {len(rows)} checks that must pass "
        f"before the unit goes back have passed.{again}{doubt}"
    )
