"""What an instrument showed: a number, or a number beyond its range."""

import math
import re
from decimal import Decimal, InvalidOperation

from ingest.catalogue import Check
from ingest.measures import UnknownUnitError, convert

# What instruments show when the value is beyond their range, in capitals.
OVER_RANGE = {"OL", "O.L", "O.L.", "0L", "OVER", "OVERLOAD", "OR", "INF", "∞"}
UNDER_RANGE = {"UL", "U.L", "UNDER", "UR", *(f"-{word_}" for word_ in OVER_RANGE)}
BOUND = re.compile(r"^(?P<sign>>=?|<=?|≥|≤)\s*(?P<number>.+)$")


def interval_of(check: Check, text: str, unit: str | None) -> tuple[float, float]:
    """Return the bounds of a reading in the check's unit; both equal for a number.

    Parameters
    ----------
    check : Check
    text : str
        A number, `OL` or the like, or a bound such as `>2000`.
    unit : str or None

    Raises
    ------
    ValueError
        If the unit is missing or does not fit, or the text is no reading.
    """
    if unit is None or not str(unit).strip():
        raise ValueError(
            f"{check.code} needs a unit, {check.unit} or one that can be turned into"
            f" it; got {text!r} without"
        )
    try:
        convert(Decimal(0), unit, check.unit)
    except UnknownUnitError as error:
        raise ValueError(f"{check.code} is measured in {check.unit}: {error}") from None
    shown = text.upper()
    if shown in OVER_RANGE:
        return math.inf, math.inf
    if shown in UNDER_RANGE:
        return -math.inf, -math.inf
    bound = BOUND.match(text)
    number = _converted(check, bound["number"] if bound else text, unit)
    if not bound:
        return number, number
    if bound["sign"] in (">", ">=", "≥"):
        return (math.nextafter(number, math.inf), math.inf)
    return (-math.inf, math.nextafter(number, -math.inf))


def _converted(check: Check, text: str, unit: str) -> float:
    try:
        number = Decimal(text.strip())
    except InvalidOperation:
        raise ValueError(
            f"{check.code} got {text!r}, which is neither a number, nor beyond the"
            " range (OL, >2000), nor pass, fail or not_done"
        ) from None
    if not number.is_finite():
        raise ValueError(f"{check.code} got {text!r}, which is no measured value")
    return float(convert(number, unit, check.unit))
