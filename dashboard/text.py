"""How numbers read: counts, estimates, intervals, shares, tables of text.

Page, command and test format through here, so that the same number looks the same.
"""

import math
from collections.abc import Mapping, Sequence

THIN_SPACE = "\u202f"  # narrow, and never the end of a line
SMALLEST_P = 0.0001
MANY_CASES = 1000  # from here on a share carries one decimal
# Beyond these an estimate is written with a power of ten.
LARGEST_WRITTEN_OUT = 1e9
SMALLEST_WRITTEN_OUT = 1e-6
TIMES = "\u00d7"
RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")

CAUTION = (
    "Qualified persons only; local codes and the employer's rules come first. Isolate "
    "and prove dead before anything is touched; nothing live before every gate check "
    "has passed."
)


def count(number: int) -> str:
    """Return a count, exact, thousands apart by a thin space."""
    return f"{number:,}".replace(",", THIN_SPACE)


def counted(number: int, thing: str) -> str:
    """Return a count of things: "1 failure", "3 failures"."""
    return f"{count(number)} {thing}{'' if number == 1 else 's'}"


def estimate(number: float | None) -> str:
    """Return an estimate to three significant digits; a dash where undefined."""
    if number is None or math.isnan(number):
        return "-"
    if math.isinf(number):
        return "not reached"
    if number == 0:
        return "0"
    if not SMALLEST_WRITTEN_OUT <= abs(number) < LARGEST_WRITTEN_OUT:
        value, power = f"{number:.2e}".split("e")
        raised = str(int(power)).translate(RAISED)
        return f"{value}{THIN_SPACE}{TIMES}{THIN_SPACE}10{raised}"
    digits = max(0, 2 - math.floor(math.log10(abs(number))))
    rounded = float(f"{number:.3g}")
    return f"{rounded:,.{digits}f}".replace(",", THIN_SPACE)


def age(days: float) -> str:
    """Return an age in days: whole days below 1 000 as they are, else an estimate."""
    if float(days).is_integer() and 0 <= days < MANY_CASES:
        return str(int(days))
    return estimate(days)


def interval(low: float | None, high: float | None) -> str:
    """Return an interval as "12 to 19"."""
    return f"{estimate(low)} to {estimate(high)}"


def p_value(value: float) -> str:
    """Return a p-value; the smallest rest on tails that nobody can check."""
    return f"under {SMALLEST_P}" if value < SMALLEST_P else f"{value:.2g}"


def share(fraction: float, n: int) -> str:
    """Return a share in percent, one decimal from 1 000 cases on."""
    digits = _share_digits(n)
    if fraction > 0 and round(100 * fraction, digits) == 0:
        return f"under {10**-digits:.{digits}f} %"
    return f"{100 * fraction:.{digits}f} %"


def share_interval(low: float, high: float, n: int) -> str:
    """Return the interval of a share as "12 to 19 %"."""
    digits = _share_digits(n)
    return f"{100 * low:.{digits}f} to {100 * high:.{digits}f} %"


def _share_digits(n: int) -> int:
    return 1 if n >= MANY_CASES else 0


def words(code: str) -> str:
    """Return a code as words: `failed_before_service` as "failed before service"."""
    return code.replace("_", " ")


def table(rows: Sequence[Mapping[str, object]], columns: Mapping[str, str]) -> str:
    """Return rows as a table of text, one line each, columns aligned.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column; numbers are set to the right.
    columns : mapping
        Heading by column, in the order shown.
    """
    shown = [[_cell(row.get(name)) for name in columns] for row in rows]
    lines = [list(columns.values()), *shown]
    widths = [max(len(line[i]) for line in lines) for i in range(len(columns))]
    to_right = [
        any(isinstance(row.get(name), int | float) for row in rows) for name in columns
    ]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(line, widths, to_right, strict=True)
        ).rstrip()
        for line in lines
    )


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return count(value)
    return estimate(value) if isinstance(value, float) else str(value)
