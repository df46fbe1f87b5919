"""What a cell of a template lets through: the rules of its field, for a spreadsheet.

A rule is as narrow as the model or narrower, so that ingest accepts what a cell lets
through. Only a formula cannot say all of parts used and of a status message. What a
row needs as a whole (a required cell, a value or an outcome) no cell can check, and
what is pasted a spreadsheet does not check at all.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from string import ascii_letters, ascii_uppercase, digits
from typing import Any

from ingest import catalogue, measures
from ingest.cells import ALONE, MONEY_PLACES, MOST_MONEY
from ingest.dictionary import Entry
from ingest.kinds.day_order import EARLIER

FIRST_DAY = dt.date(1900, 3, 1)  # a spreadsheet knows a 29 February 1900 before it
LAST_DAY = dt.date(9999, 12, 31)
DAY_ZERO = dt.date(1899, 12, 30)
LONGEST_LIST = 255  # characters of a list within a check
LONGEST_CELL = 32_767
LONGEST_INPUT = 255  # characters of a message beside a cell
LONGEST_TITLE = 32
LISTS = "codes"  # the hidden sheet of the codes
# A code is one of a list, each of which is set between these in a joined text.
MARK = ";"


@dataclass(frozen=True, slots=True)
class Columns:
    """Where things are in the workbook.

    Attributes
    ----------
    letter : mapping of str to str
        The column of each field.
    codes : mapping of str to str
        The range of the codes of each field that has some, on the sheet of lists.
    """

    letter: Mapping[str, str]
    codes: Mapping[str, str]

    def cell(self, field: str) -> str:
        """Return the first cell of a field: those below follow from it."""
        return f"{self.letter[field]}2"


def check_of(entry: Entry, columns: Columns) -> dict[str, Any]:
    """Return the check of a field's cells, as XlsxWriter takes it.

    Parameters
    ----------
    entry : Entry
    columns : Columns
    """
    required = "Required. " if entry.required else ""
    message = f"{required}{entry.meaning}. {entry.limits()}".strip()
    words = {
        "input_title": entry.field[:LONGEST_TITLE],
        "input_message": message[:LONGEST_INPUT],
        "error_title": entry.field[:LONGEST_TITLE],
        "error_message": f"Must be {_allowed(entry)}"[:LONGEST_INPUT],
    }
    return _rule(entry, columns) | words


def _allowed(entry: Entry) -> str:
    if entry.type == "code":
        return "a code of the list."
    if entry.type == "codes":
        return (
            "codes with ; between, without blanks, each once: see the sheet of codes."
        )
    return f"{entry.type}: {entry.limits()}."


def _rule(entry: Entry, columns: Columns) -> dict[str, Any]:
    codes = [word.code for word in entry.codes] if entry.type == "code" else []
    choices = codes or [str(number) for number in entry.numbers]
    if choices:
        return _list(choices, columns.codes.get(entry.field, ""))
    formula = _OWN.get(entry.field) or _FORMULAS.get(entry.type)
    if formula:
        return _formula(formula(entry, columns.cell(entry.field), columns))
    if entry.type == "time":
        return _between("date", FIRST_DAY, LAST_DAY)
    if entry.type in _RANGES:
        return _between(_RANGES[entry.type], entry.least, entry.most)
    return _between("length", 1, min(entry.longest or LONGEST_CELL, LONGEST_CELL))


def _list(codes: list[str], place: str) -> dict[str, Any]:
    short = len(",".join(codes)) <= LONGEST_LIST
    return {"validate": "list", "source": codes if short else f"={place}"}


def _between(kind: str, least: object, most: object) -> dict[str, Any]:
    return {
        "validate": kind, "criteria": "between", "minimum": least, "maximum": most
    }  # fmt: skip


def _formula(parts: str) -> dict[str, Any]:
    return {"validate": "custom", "value": f"=AND({parts})"}


def _only(text: str, letters: str, longest: int, *, first: int = 1) -> str:
    """Return that a text has no other letters than these, from the first place on."""
    # Rows of the hidden sheet only count: nobody deletes any there.
    one = f"MID({text},ROW({LISTS}!$A${first}:$A${longest}),1)"
    return f'SUMPRODUCT(1*ISERROR(FIND({one},"{letters}")))=0'


def _day(entry: Entry, cell: str, columns: Columns) -> str:
    low, high = ((day - DAY_ZERO).days for day in (FIRST_DAY, LAST_DAY))
    parts = [f"INT({cell})={cell}", f"{cell}>={low}", f"{cell}<={high}"]
    for name, strictly in entry.after:
        other = columns.cell(name)
        parts.append(f'OR({other}="",{cell}>{"" if strictly else "="}{other})')
    for name, before in EARLIER.items():
        for earlier, strictly in before:
            if earlier == entry.field and name in columns.letter:
                other = columns.cell(name)
                parts.append(f'OR({other}="",{cell}<{"" if strictly else "="}{other})')
    return ",".join(parts)


def _month(_entry: Entry, cell: str, _columns: Columns) -> str:
    bare = f'SUBSTITUTE({cell},"-","")'
    return ",".join(
        (
            f"LEN({cell})=7",
            f'MID({cell},5,1)="-"',
            f"LEN({bare})=6",
            _only(bare, digits, 6),
            f'LEFT({cell},4)>="0001"',
            f"1*RIGHT({cell},2)>=1",
            f"1*RIGHT({cell},2)<=12",
        )
    )


def _money(_entry: Entry, cell: str, _columns: Columns) -> str:
    return (
        f"ISNUMBER({cell}),{cell}>=0,{cell}<{MOST_MONEY},"
        f"ROUND({cell},{MONEY_PLACES})={cell}"
    )


def _several(entry: Entry, cell: str, columns: Columns) -> str:
    place = columns.codes[entry.field]
    joined = f'"{MARK}"&{cell}&"{MARK}"'
    found = f'ISNUMBER(FIND("{MARK}"&{place}&"{MARK}",{joined}))'
    # As many codes of the list are found as there are places between the marks.
    parts = [f'SUMPRODUCT(1*{found})=LEN({cell})-LEN(SUBSTITUTE({cell},"{MARK}",""))+1']
    parts += [
        f'OR({cell}="{word.code}",ISERROR(FIND("{word.code}",{cell})))'
        for word in entry.codes
        if word.code in ALONE
    ]
    return ",".join(parts)


def _serial(entry: Entry, cell: str, _columns: Columns) -> str:
    longest = entry.longest or 0
    return f"LEN({cell})>={entry.shortest},LEN({cell})<={longest}," + _only(
        cell, f"{ascii_letters}{digits}._/-", longest
    )


def _currency(_entry: Entry, cell: str, _columns: Columns) -> str:
    return f"LEN({cell})=3,{_only(cell, ascii_uppercase, 3)}"


def _parts(entry: Entry, cell: str, _columns: Columns) -> str:
    # One part at least, each with a star: how many of each is told by ingest.
    n_marks = f'LEN(SUBSTITUTE({cell},"{MARK}",""))'
    n_stars = f'LEN(SUBSTITUTE({cell},"*",""))'
    return (
        f"LEN({cell})<={entry.longest},{n_stars}={n_marks}-1,"
        f'ISNUMBER(FIND(RIGHT({cell}),"{digits}"))'
    )


def _value(entry: Entry, cell: str, _columns: Columns) -> str:
    bare = f'LEN(SUBSTITUTE({cell},".",""))'
    sign = f'COUNT(FIND(LEFT({cell}),"-<>"))'
    rest = _only(cell, f"{digits}.", entry.longest or 0, first=2)
    number = (
        f'COUNT(FIND(LEFT({cell}),"{digits}.-<>")),{rest},'
        f"{bare}>={sign}+1,{bare}+1>=LEN({cell})"
    )
    return f'LEN({cell})<={entry.longest},OR({cell}="OL",AND({number}))'


def _unit(_entry: Entry, cell: str, columns: Columns) -> str:
    table, check = columns.codes["unit"], columns.cell("check")
    return f'ISNUMBER(FIND("{MARK}"&{cell}&"{MARK}",VLOOKUP({check},{table},2,FALSE)))'


def units_of_checks() -> list[tuple[str, str]]:
    """Return each check with the units that a value of it may have, marks around."""
    found = []
    for check in catalogue.checks().values():
        try:
            units = measures.convertible_units(check.unit)
        except measures.UnknownUnitError:  # judged by its outcome alone
            units = ()
        found.append((check.code, MARK + MARK.join(units) + MARK))
    return found


_RANGES = {"number": "decimal", "whole number": "integer"}
_FORMULAS = {"day": _day, "month": _month, "money": _money, "codes": _several}
_OWN = {
    "serial": _serial,
    "replaced_by_serial": _serial,
    "currency": _currency,
    "parts_used": _parts,
    "value": _value,
    "unit": _unit,
}
