"""What a limit is, and how the facts about the unit under test are read.

A limit has one window to pass, and may have bands that are neither pass nor fail;
everything else fails. What is not recorded about the unit makes the limit
stricter or leaves it open, and `assumed` says so in words.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

Context = Mapping[str, object]
Interval = tuple[float, float]
EVERYWHERE: Interval = (-math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class Limit:
    """Window to pass, bands between, and where they come from.

    `low` and `high` are None where that side is open. With `window` False there is
    nothing to pass: what is needed to judge is not recorded.
    """

    unit: str
    source: str
    low: float | None = None
    high: float | None = None
    window: bool = True
    low_excluded: bool = False
    high_excluded: bool = False
    between: tuple[Interval, ...] = ()
    assumed: tuple[str, ...] = field(default=())

    @property
    def fail_low(self) -> float | None:
        """Where a falling reading begins to fail: below a band that adjoins."""
        edges = [lo for lo, hi in self.between if hi == self.low]
        return edges[0] if edges else self.low

    def outcome(self, lowest: float, highest: float) -> str:
        """Judge a reading known to lie in [lowest, highest]; both equal for a number.

        Returns
        -------
        str
            `pass`, `fail` or `undefined`.
        """
        low = -math.inf if self.low is None else self.low
        high = math.inf if self.high is None else self.high
        if self.low_excluded:
            low = math.nextafter(low, math.inf)
        if self.high_excluded:
            high = math.nextafter(high, -math.inf)
        if self.window and low <= lowest and highest <= high:
            return "pass"
        touched = [*self.between, (low, high)] if self.window else self.between
        if any(lowest <= hi and lo <= highest for lo, hi in touched):
            return "undefined"
        return "fail"

    def text(self) -> str:
        """Return the window in words, such as `11.4 to 12.6 V`."""
        if not self.window:
            return "no limit: " + "; ".join(self.assumed)
        if self.low is None and self.high is None:
            return "no limit"
        unit = "" if self.unit == "%" else " "
        if self.low is None:
            most = "below" if self.high_excluded else "at most"
            return f"{most} {in_words(self.high)}{unit}{self.unit}"
        if self.high is None:
            return f"at least {in_words(self.low)}{unit}{self.unit}"
        above = "above " if self.low_excluded else ""
        to = "to below" if self.high_excluded else "to"
        window = f"{above}{in_words(self.low)} {to} {in_words(self.high)}"
        return f"{window}{unit}{self.unit}"


def computed(limit: float) -> float:
    """Return a computed limit without the noise of binary fractions.

    A reading of 0.2 then lies at a limit of 0.1 + 0.1, not beside it.
    """
    return round(limit, 9)


def in_words(number: float | None) -> str:
    """Write a number with at most five digits, thousands apart from 10 000 on."""
    if number is None:
        return "not known"
    if abs(number) >= 10_000:  # noqa: PLR2004 - where reading digits gets hard
        return f"{number:,.0f}".replace(",", " ")
    return f"{number:.5g}"


def recorded(context: Context, key: str) -> object | None:
    """Return a fact of the unit, None where it is missing, empty or not a number."""
    value = context.get(key)
    if value is None or value == "":
        return None
    if isinstance(value, float) and math.isnan(value):
        return None
    return value


def number(context: Context, key: str, *, least: float = 0.0) -> float | None:
    """Return a fact of the unit as a number, None where it is not recorded.

    Raises
    ------
    ValueError
        If it is no number, or not above `least`.
    """
    value = recorded(context, key)
    if value is None:
        return None
    try:
        found = float(str(value))
    except ValueError:
        raise ValueError(f"{key} must be a number, not {value!r}") from None
    if not (math.isfinite(found) and found > least):
        raise ValueError(f"{key} must be a number above {least:g}, not {value!r}")
    return found


def word(context: Context, key: str, allowed: Mapping[str, object]) -> str | None:
    """Return a fact of the unit as one of the words allowed, None if not recorded.

    A code of digits may come as a number (a table reads 230 so).

    Raises
    ------
    ValueError
        If it is none of the words.
    """
    value = recorded(context, key)
    if value is None:
        return None
    text = f"{value:g}" if isinstance(value, (int, float)) else str(value).strip()
    if text not in allowed:
        raise ValueError(f"{key} must be one of {', '.join(allowed)}, not {value!r}")
    return text


def words(context: Context, key: str, allowed: Mapping[str, object]) -> tuple[str, ...]:
    """Return a fact that may hold several words, `;` between or as a sequence.

    Raises
    ------
    ValueError
        If one of them is not allowed.
    """
    value = recorded(context, key)
    if value is None:
        return ()
    parts = value.split(";") if isinstance(value, str) else list(_sequence(value))
    found = tuple(text for part in parts if (text := str(part).strip()))
    for text in found:
        if text not in allowed:
            raise ValueError(f"{key} must be among {', '.join(allowed)}, not {text!r}")
    return found


def _sequence(value: object) -> tuple[object, ...]:
    if isinstance(value, (list, tuple, set, frozenset)):
        return tuple(value)
    raise ValueError(f"a list of codes was expected, not {value!r}")
