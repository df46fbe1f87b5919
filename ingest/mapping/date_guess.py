"""Which notation the dates of a column are in."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from ingest.mapping.dates import in_own_notation, read_date

# Day before month first: with dots nothing else is met.
DAYS = (
    "%d.%m.%Y", "%d.%m.%y", "%d/%m/%Y", "%m/%d/%Y", "%d/%m/%y", "%m/%d/%y",
    "%d-%m-%Y", "%m-%d-%Y", "%d-%m-%y", "%m-%d-%y", "%Y-%m-%d", "%Y/%m/%d",
    "%Y.%m.%d", "%Y%m%d", "%d %b %Y", "%d-%b-%Y", "%d-%b-%y", "%d. %B %Y",
    "%d %B %Y", "%b %d, %Y", "%B %d, %Y",
)  # fmt: skip
TIMES = (
    "", " %H:%M", " %H:%M:%S", "T%H:%M", "T%H:%M:%S", " %I:%M %p", " %I:%M:%S %p",
)  # fmt: skip
MONTHS = (
    "%m/%Y", "%m.%Y", "%m-%Y", "%Y/%m", "%Y.%m", "%Y%m", "%b %Y", "%b-%Y", "%b-%y",
    "%B %Y", "%m/%y",
)  # fmt: skip
MOST_FORMATS = 3
LIKE_A_DATE = re.compile(r"(?=.*\d.*\d).{4,30}", re.DOTALL)
DAY_AND_MONTH = re.compile(r"%([dm])([./-])%([dm])(?=\2)")


@dataclass(frozen=True, slots=True)
class DateGuess:
    """The notation of a column's dates.

    Attributes
    ----------
    formats : tuple of str
        Empty: as the field takes them, or none that is known.
    swapped : str or None
        The first format with day and month the other way round, where it fits as many
        cells.
    """

    formats: tuple[str, ...] = ()
    swapped: str | None = None


@lru_cache(maxsize=1024)
def guess_formats(cells: tuple[str, ...], form: str) -> DateGuess:
    """Return the formats that read most cells, the one with the most first.

    Parameters
    ----------
    cells : tuple of str
        Distinct cells.
    form : {"day", "month", "moment"}
    """
    left = {cell for cell in cells if not in_own_notation(cell, form)}
    dates = {cell for cell in left if LIKE_A_DATE.fullmatch(cell)}
    if not dates:
        return DateGuess()
    candidates = [day + time for day in DAYS for time in TIMES]
    if form == "month":
        candidates = [*MONTHS, *DAYS]
    formats: list[str] = []
    while dates and len(formats) < MOST_FORMATS:
        best = max(candidates, key=lambda one: len(_read(dates, [one], form)))
        read = _read(dates, [best], form)
        if not read:
            break
        # The other order of day and month beside it would make both unreadable.
        candidates = [one for one in candidates if one not in (best, _swapped(best))]
        formats.append(best)
        dates = dates - read
    if not formats:
        return DateGuess()
    other = _swapped(formats[0])
    n_read = len(_read(left, formats[:1], form))
    as_good = other and form != "month" and len(_read(left, [other], form)) == n_read
    return DateGuess(tuple(formats), other if as_good else None)


def _read(cells: set[str], formats: Sequence[str], form: str) -> set[str]:
    return {cell for cell in cells if read_date(cell, formats, form)}


def _swapped(text: str) -> str | None:
    swapped = DAY_AND_MONTH.sub(r"%\3\2%\1", text)
    return swapped if swapped != text else None
