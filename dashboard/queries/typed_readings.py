"""Checks done so far as they are typed, one line each."""

import re
from decimal import Decimal

from pydantic import BaseModel, ConfigDict
from pydantic_core import PydanticCustomError

from analytics.advice.reading_values import OVER_RANGE, UNDER_RANGE
from dashboard.filters import listed_code, nearest_hint
from ingest import catalogue

FORM = "CHECK[@POINT][~CONDITION]=VALUE[UNIT] or CHECK[@POINT][~CONDITION]=pass|fail"
OUTCOMES = ("pass", "fail", "not_done")
# The longest first: OVER is the beginning of OVERLOAD.
_BEYOND = "|".join(
    re.escape(shown)
    for shown in sorted(OVER_RANGE | UNDER_RANGE, key=lambda word: (-len(word), word))
)
_NUMBER = r"-?[0-9]+(\.[0-9]+)?"
_READING = re.compile(
    r"(?P<check>[a-z_0-9]+)(@(?P<point>[A-Za-z0-9 _.-]+))?(~(?P<condition>[a-z_]+))?="
    rf"(?P<value>pass|fail|not_done|(?i:{_BEYOND})|((>=?|<=?|≥|≤)\s*)?{_NUMBER})"
    r"\s*(?P<unit>\S*)"
)


class TypedReading(BaseModel):
    """One reading as typed, in the form of `FORM`."""

    model_config = ConfigDict(frozen=True)

    check: str
    point: str | None
    condition: str | None
    value: str
    unit: str | None

    @property
    def is_outcome(self) -> bool:
        """Whether an outcome was typed, and no value."""
        return self.value in OUTCOMES

    @property
    def number(self) -> Decimal | str:
        """The value as a number, or as typed where it is over or under range."""
        is_plain = re.fullmatch(_NUMBER, self.value)
        return Decimal(self.value) if is_plain else self.value


def typed_reading(text: str) -> TypedReading:
    """Return a reading typed as text; an error of pydantic says what is wrong in it."""
    found = _READING.fullmatch(text.strip())
    if not found:
        raise PydanticCustomError(
            "reading", "reading {text} is not {form}", {"text": text, "form": FORM}
        )
    check, condition = found["check"], found["condition"]
    if check not in catalogue.checks():
        raise PydanticCustomError(
            "unknown_code",
            "check {check} is not known; {hint}",
            {"check": check, "hint": nearest_hint(check, catalogue.checks())},
        )
    if condition is not None:
        listed_code("condition", condition, catalogue.codes("conditions"))
    return TypedReading(
        check=check,
        point=found["point"],
        condition=condition,
        value=found["value"].replace(" ", ""),
        unit=found["unit"] or None,
    )
