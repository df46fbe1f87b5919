"""One reading: what the meter showed, and the same in the unit of its check."""

import re
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, NamedTuple

from pydantic import Field, StringConstraints, ValidationInfo, field_validator

from ingest import catalogue, measures
from ingest.cells import (
    NUMBER,
    Allowed,
    Moment,
    Number,
    Record,
    ShortText,
    Text,
    Whole,
    code_of,
    problem,
)

# Over or under range as a meter shows it: OL, >2000, <0.1; or a number.
SHOWN = re.compile(
    rf"(?:(?P<over>OL)|(?P<sign>[<>]?)\s*(?P<number>{NUMBER.pattern}))", re.IGNORECASE
)
SHOWN_WORDS = "a number, or OL, >2000, <0.1 out of range"
ABSOLUTE_ZERO_C = -273.15
MOST_REPEATS = 1_000_000  # a sequence above it is a slip, and would overflow later


class Measured(NamedTuple):
    """A reading as a number in the check's unit, or the bound it lies beyond."""

    quantity: float | None = None
    bound: str | None = None
    bound_quantity: float | None = None


class Reading(Record):
    """One measured value, or one outcome, of a check on a case."""

    case_id: ShortText
    """Number of the return; it may be unknown to the repairs so far"""
    check: Annotated[Text, code_of("checks")]
    """What was checked; qualified persons only, nothing live before every gate check"""
    taken_at: Moment
    """Day, or day and time, of the reading; kept in UTC where a zone is given"""
    stage: Annotated[Text, code_of("stages")]
    """Where and when in the repair"""
    point: ShortText | None = None
    """Conductor, pair or part: L1 L2 L3 N PE CP PP, pairs with `-`, or a name"""
    condition: Annotated[Text, code_of("conditions")] | None = None
    """State of the unit or cable during the reading"""
    sequence: Annotated[int, Whole, Field(ge=1, le=MOST_REPEATS)] = 1
    """Counts repeats at one time"""
    outcome: Annotated[Text, code_of("outcomes")] | None = None
    """Result of a check without a number; a reading needs this or a value"""
    value: Annotated[ShortText, Allowed(SHOWN_WORDS)] | None = Field(
        default=None, validate_default=True
    )
    """What the meter shows; OL, >2000 or <0.1 where it is out of range"""
    unit: Annotated[
        str | None, StringConstraints(strip_whitespace=True, max_length=20)
    ] = Field(default=None, validate_default=True)
    """Unit of the value; case counts: mohm is a thousandth of an ohm, Mohm a million"""
    instrument: Text | None = None
    """Instrument used"""
    ambient_c: Annotated[float, Number, Field(ge=ABSOLUTE_ZERO_C, le=1000)] | None = (
        None
    )
    """Temperature around, in °C"""
    minutes: Annotated[float, Number, Field(ge=0, le=10_000)] | None = None
    """Time spent on the check, in minutes"""

    @field_validator("value", mode="before")
    @classmethod
    def _a_number_or_a_bound(cls, cell: Any, info: ValidationInfo) -> Any:
        if cell is None:
            # An outcome that is wrong itself is not in the data, and is no gap.
            if "outcome" in info.data and info.data["outcome"] is None:
                raise problem("missing", "a reading needs a value or an outcome")
            return None
        if not isinstance(cell, str) or not SHOWN.fullmatch(cell.strip()):
            raise problem("not_a_number", f"must be {SHOWN_WORDS}")
        return cell

    @field_validator("unit")
    @classmethod
    def _converts(cls, unit: str | None, info: ValidationInfo) -> str | None:
        check = info.data.get("check")
        if info.data.get("value") is None or check is None:
            return unit
        wanted = catalogue.checks()[check].unit
        if unit is None:
            raise problem("missing", f"a value needs its unit; {check} is in {wanted}")
        if not _convertible(unit, wanted):
            raise problem("unknown_unit", f"does not convert to {wanted} of {check}")
        return unit

    def measured(self) -> Measured:
        """Return the value in the check's unit of the catalogue."""
        shown = SHOWN.fullmatch(self.value) if self.value else None
        if shown is None:
            return Measured()
        if shown["over"]:
            return Measured(bound="above")
        wanted = catalogue.checks()[self.check].unit
        number = float(
            measures.convert(Decimal(shown["number"]), str(self.unit), wanted)
        )
        if not shown["sign"]:
            return Measured(quantity=number)
        side = "above" if shown["sign"] == ">" else "below"
        return Measured(bound=side, bound_quantity=number)


@lru_cache(maxsize=1024)
def _convertible(unit: str, wanted: str) -> bool:
    try:
        measures.convert(Decimal(1), unit, wanted)
    except ValueError:
        return False
    return True
