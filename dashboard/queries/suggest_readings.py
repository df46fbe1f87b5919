"""The checks typed so far: each judged for the unit on the bench."""

import math
from collections.abc import Sequence

from analytics.advice.gate import JudgedReading, point_name
from analytics.advice.readings import Evaluation, evaluate_reading, expected_window
from dashboard.queries.answer import Row
from dashboard.queries.typed_readings import TypedReading
from dashboard.queries.unit_facts import Context
from ingest import catalogue
from ingest.errors import UsageError

# Readings of this session are taken while looking for the fault, or after the repair.
STAGE = "diagnosis"


class JudgedReadings:
    """Readings of one unit in the order typed, each judged as it comes.

    Parameters
    ----------
    typed : sequence of TypedReading
    context : mapping
        What is known of the unit.
    stage : str, optional
        When they were taken.
    after : int, optional
        How many readings of the unit came before the first of these.

    Raises
    ------
    UsageError
        A unit that does not fit, or a check that does not apply to the unit.
    """

    def __init__(
        self,
        typed: Sequence[TypedReading],
        context: Context,
        *,
        stage: str = STAGE,
        after: int = 0,
    ) -> None:
        self._context = context
        self._stage = stage
        self._after = after
        # Twice: what one point shows may be the limit of another.
        alone = [(reading, self._evaluated(reading, {})) for reading in typed]
        self._found = [
            (reading, self._evaluated(reading, _beside(reading, alone)))
            for reading in typed
        ]

    @property
    def judged(self) -> list[JudgedReading]:
        """The readings as the gate and the ranking take them."""
        return [
            JudgedReading(
                check=reading.check,
                outcome=verdict.outcome,
                stage=self._stage,
                point=reading.point,
                condition=reading.condition,
                order=self._after + order,
                has_value=not reading.is_outcome,
                probability_of_fail=verdict.probability_of_fail,
                side=_side(verdict),
            )
            for order, (reading, verdict) in enumerate(self._found)
        ]

    def rows(self) -> list[Row]:
        """Return the readings as the answer shows them."""
        return [
            {
                "check": reading.check,
                "point": reading.point,
                "condition": reading.condition,
                "value": reading.value,
                "unit": None if reading.is_outcome else reading.unit or verdict.unit,
                "outcome": verdict.outcome,
                "window": expected_window(reading.check, self._context).text,
                "meaning": verdict.meaning,
            }
            for reading, verdict in self._found
        ]

    def _evaluated(self, reading: TypedReading, beside: Context) -> Evaluation:
        value = reading.value if reading.is_outcome else reading.number
        typed = f"{reading.check}={reading.value}{reading.unit or ''}"
        check = catalogue.checks()[reading.check]
        at: Row = {"point": reading.point, "condition": reading.condition}
        try:
            verdict = evaluate_reading(
                check.code,
                value,
                reading.unit or (None if reading.is_outcome else check.unit),
                stage=self._stage,
                context={**self._context, **at, **beside},
            )
        except ValueError as error:
            raise UsageError(
                f"Reading {typed}: {error}.",
                hint="Correct the reading, leave it out, or have the record corrected.",
            ) from None
        return verdict


def _beside(
    reading: TypedReading, found: Sequence[tuple[TypedReading, Evaluation]]
) -> Row:
    """Return what the last values at other points, or at rest, say of the limit."""
    last = {
        (point_name(typed.point), typed.condition): verdict.value
        for typed, verdict in found
        if typed.check == reading.check
        and verdict.value is not None
        and 0 <= verdict.value < math.inf
    }
    here = point_name(reading.point)
    if reading.check == "earth_continuity" and (here, "still") in last:
        return {"still_ohm": last[here, "still"]}
    if reading.check == "path_resistance":
        others = tuple(v for (point, _), v in last.items() if point != here)
        return {"other_poles_mohm": others} if others else {}
    return {}


def _side(verdict: Evaluation) -> str | None:
    """Return on which side of its limit a value that fails lies."""
    if verdict.outcome != "fail" or verdict.value is None:
        return None
    if verdict.high is not None and verdict.value > verdict.high:
        return "high"
    is_below = verdict.low is not None and verdict.value < verdict.low
    return "low" if is_below else None
