"""Whether the proof that a unit is dead still holds, and whether mains may be on it."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from analytics.advice.check_table import check_hazard
from analytics.advice.checks_at_hand import BARRED, PROVED_DEAD
from analytics.advice.gate import JudgedReading
from analytics.advice.limits import Context
from ingest.catalogue import checks

NOT_PROVED = "The unit has not been proved dead."
REPAIRED = "A repair was made: prove the unit dead again, and repeat the gate."


def why_not_safe(
    ordered: Sequence[JudgedReading],
    *,
    opened: tuple[float, ...],
    repaired: bool,
    now: tuple[str | None, str | None],
) -> str:
    """Return why the unit does not count as proved dead; empty where it does.

    Parameters
    ----------
    ordered : sequence of JudgedReading
        In the order of time.
    opened : tuple of float
        When the unit was opened again.
    repaired : bool
        True once a repair was made.
    now : tuple of (str or None)
        Day and technician of now.
    """
    proof: JudgedReading | None = None
    after_repair = False
    why = NOT_PROVED
    for reading in ordered:
        first = reading.stage == "after_repair" and not after_repair
        after_repair = after_repair or first
        if proof and (lost := _lost(proof, reading, opened, first_after=first)):
            proof, why = None, lost
        if reading.check == PROVED_DEAD:
            holds = reading.outcome == "pass" and reading.stage != "on_site"
            holds = holds and (reading.stage == "after_repair" or not after_repair)
            proof = reading if holds else None
            why = (
                "" if holds else "The last proof that the unit is dead has not passed."
            )
        elif reading.outcome == "fail" and proof:
            failed = checks()[reading.check].label
            proof = None
            why = (
                f"{failed} failed after the unit was proved dead: prove it dead again."
            )
    if proof is None:
        return why
    if repaired and not after_repair:
        return REPAIRED
    later = replace(proof, order=math.inf, day=now[0], technician=now[1])
    return _lost(proof, later, opened, first_after=False)


def _lost(
    proof: JudgedReading,
    reading: JudgedReading,
    opened: tuple[float, ...],
    *,
    first_after: bool,
) -> str:
    if first_after:
        return REPAIRED
    if any(proof.order < moment <= reading.order for moment in opened):
        return "The unit was opened again: prove it dead again."
    if None not in (proof.day, reading.day) and proof.day != reading.day:
        return "The unit was proved dead on another day: prove it dead again."
    known = None not in (proof.technician, reading.technician)
    if known and proof.technician != reading.technician:
        return "Someone else proved the unit dead: prove it dead again yourself."
    return ""


def is_energised(ordered: Iterable[JudgedReading], context: Context) -> bool:
    """Tell whether mains may be on the unit: from a live check until proved dead.

    Parameters
    ----------
    ordered : iterable of JudgedReading
        In the order of time.
    context : mapping
    """
    energised = False
    for reading in ordered:
        if reading.stage == "on_site":
            continue
        if reading.check == PROVED_DEAD:
            energised = energised and reading.outcome != "pass"
        elif check_hazard(reading.check, context) == BARRED:
            energised = energised or reading.outcome != "not_done"
    return energised
