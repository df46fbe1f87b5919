"""Dates in other notations: read by the formats that a mapping gives.

A cell that two formats of a list read as two days is left as it stands, so that the
row is set aside and a person decides: a wrong day is worse than none.
"""

import datetime as dt
import re
from collections.abc import Iterator, Sequence

from ingest.cells import DAY, MOMENT, MONTH

# Letters of strptime whose meaning does not change with the machine's language or
# zone; names of days and months are the English ones. Days of the year (%j) are left
# out: strptime reads day 366 of a year that has 365 as the first of the next.
LETTERS = frozenset("dmyYHIMSfpbBaAz%")
LETTER = re.compile(r"%(.?)", re.DOTALL)
# The parts of each differ, so that one read as another shows.
PROBES = (
    dt.datetime(2026, 3, 5, 14, 7, 9, tzinfo=dt.UTC),
    dt.datetime(2027, 11, 28, 4, 36, 58, tzinfo=dt.UTC),
)
OWN_NOTATION = {"day": DAY, "month": MONTH, "moment": MOMENT}
WHAT = {
    "day": "day, month and year",
    "month": "month and year",
    "moment": "day, month and year, and hours with minutes or no time at all",
}


def why_no_format(text: str, form: str) -> str | None:
    """Return why a format cannot be used for a field, None if it can.

    Parameters
    ----------
    text : str
        As for strptime: `%d.%m.%Y`.
    form : {"day", "month", "moment"}
    """
    letters = LETTER.findall(text)
    for letter in letters:
        if letter not in LETTERS:
            known = " ".join(f"%{one}" for one in sorted(LETTERS))
            return f"`%{letter}` cannot be used; letters that can be: {known}"
        if letter != "%" and letters.count(letter) > 1:
            return f"`%{letter}` stands in it twice"
    if "p" in letters and "I" not in letters:
        return "`%p` goes with `%I`; with `%H` it would not count"
    for probe in PROBES:
        if not _reads_back(probe, text, form):
            return f"it does not hold {WHAT[form]}"
        if any(_misreads(own, text, form) for own in _own_notations(probe)):
            day = probe.date().isoformat()
            return (
                f"it would read {day} as another day; year, month, day is how dates"
                " of a workbook come, and what is understood without a format"
            )
    return None


def read_date(text: str, formats: Sequence[str], form: str) -> str | None:
    """Return what a cell says in our notation, None if no format or two fit it.

    Parameters
    ----------
    text : str
    formats : sequence of str
        A year of two digits is 1969 to 2068.
    form : {"day", "month", "moment"}
        A day drops the time, a month the day; a moment keeps both where the format
        has them.

    Returns
    -------
    str or None
    """
    found = set()
    for one in formats:
        try:
            moment = dt.datetime.strptime(text, one)  # noqa: DTZ007 - a workshop's own clock unless %z says more
        except ValueError:
            continue
        found.add(_written(moment, form, with_time=_has_time(one)))
    return found.pop() if len(found) == 1 else None


def in_own_notation(text: str, form: str) -> bool:
    """Say whether a cell is written as the field takes it without a mapping."""
    return bool(OWN_NOTATION[form].fullmatch(text))


def _reads_back(probe: dt.datetime, text: str, form: str) -> bool:
    try:
        written = probe.strftime(text)
    except ValueError:  # signs that no date is written with
        return False
    found = read_date(written, [text], form) or ""
    exact_to = len("2026-03-05T14:07")
    wanted = _written(probe, form, with_time=_has_time(text))[:exact_to]
    return found[:exact_to] == wanted


def _misreads(own: str, text: str, form: str) -> bool:
    if form == "month":
        return read_date(own, [text], form) not in (None, own[:7])
    return read_date(own, [text], "day") not in (None, own[:10])


def _own_notations(probe: dt.datetime) -> Iterator[str]:
    naive = probe.replace(tzinfo=None)
    yield naive.date().isoformat()
    yield naive.date().isoformat()[:7]
    for between in "T ":
        for precision in ("minutes", "seconds"):
            yield naive.isoformat(between, precision)


def _has_time(text: str) -> bool:
    return any(letter in "HI" for letter in LETTER.findall(text))


def _written(moment: dt.datetime, form: str, *, with_time: bool) -> str:
    day = moment.date().isoformat()
    if form == "month":
        return day[:7]
    return moment.isoformat() if form == "moment" and with_time else day
