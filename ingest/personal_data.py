"""Personal data masked before anything is stored: e-mail, telephone, vehicle number.

People write these into free text and into columns of their own. What cannot be told
from its shape, such as a name, is not found here; leave such columns out of the file.

What is masked, and what is not, on purpose:

- E-mail addresses with a domain that has a dot. "name at company" is not found.
- Telephone numbers with `+` or `00` and the country; with the 0 that national numbers
  begin with (9 to 14 digits in groups, 10 to 12 in one piece); written 3-3-4 with
  `-`, `.` or brackets, as in North America; and any 7 to 15 digits just after a word
  such as Tel. or phone. Digits in groups with none of these are left alone: they are
  measured values, part numbers and cases more often. So is a number just after a
  word such as lot, part or case, unless it begins with `+`, and every day and time.
- Vehicle identification numbers (ISO 3779: 17 characters without I, O, Q): if the
  check digit in place 9 is right, as North America requires, and there is a letter
  among them; and in any case just after a word such as VIN or chassis, as most other
  countries use place 9 freely. One code of 17 characters in eleven looks right by
  chance; serials and case numbers are therefore never looked at.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from ingest.readers.source import Cell, NoValue, Problem

E_MAIL, PHONE, VEHICLE = "[e-mail]", "[phone]", "[VIN]"
# Without one of these there is nothing to mask. Also read by the database: no syntax
# that only Python knows.
MIGHT_HOLD = (
    "@",
    "(?:[0-9][^0-9]*){7}",
    "[A-HJ-NPR-Za-hj-npr-z0-9]{17}",
)
# What names a unit or a case must come back as it went.
NAMES = frozenset({"serial", "replaced_by_serial", "case_id"})
# Codes in groups of digits look like telephone numbers.
CODES = frozenset(
    {"production_lot", "parts_used", "hardware_revision", "firmware_version"}
)

_DIGITS = re.compile(MIGHT_HOLD[1])
_RUN_OF_17 = re.compile(MIGHT_HOLD[2])
_ADDRESS = re.compile(r"[\w%+][\w.%+'-]{0,63}@(?:[\w-]{1,63}\.)+[^\W\d_]{2,24}")
# 49 CFR 565.15: the value of each letter, the weight of each place; place 9 itself
# has none.
_VALUES = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789", strict=True))
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_PLACE = 8
_CHARACTERS = 17
_VEHICLE = re.compile(rf"(?<![A-Za-z0-9]){MIGHT_HOLD[2]}(?![A-Za-z0-9])")
# Between the word and the number: never `]`, with which our own marks end.
_BETWEEN = r"[\s_-]*(?:no|nr|num(?:ber|mer)?|id)?[\s:.,;#=/_-]{0,5}$"
_VEHICLE_WORD = re.compile(
    r"(?:\b|_)(?:vin|fin|ch[aâ]ssis|fahrgestell(?:nummer|nr)?"
    r"|fahrzeug-?ident(?:ifizierungs|ifikations)?(?:nummer|nr)?"
    rf"|vehicle[\s_]identification){_BETWEEN}",
    re.IGNORECASE,
)
_PHONE_WORD = re.compile(
    r"(?:\b|_)(?:tele(?:ph|f)one?|tel|(?:tele)?phone|ph|mobile?|handy|cell|fax|whatsapp"
    r"|r(?:ü|ue)ckruf|call[\s-]?back|call[\s](?:me|him|her|them))"
    rf"(?:[\s_-]*(?:on|at|under|unter))?{_BETWEEN}",
    re.IGNORECASE,
)
_OTHER_WORD = re.compile(
    r"(?:\b|_)(?:p/?n|s/?n|rma|lot|batch|charge|part|teil(?:e)?|serial|serien|case|fall"
    rf"|order|auftrags?|bestell|invoice|rechnungs?|ticket|article|artikel){_BETWEEN}",
    re.IGNORECASE,
)
_WORD_LENGTH = 50  # characters looked at before a number
_MOST_WORDS = 9  # of one telephone number
_DAY = (
    r"(?:[0-9]{1,2}[./-][0-9]{1,2}[./-](?:(?:19|20)[0-9]{2}|[0-9]{2})"
    r"|(?:19|20)[0-9]{2}[./-][0-9]{1,2}[./-][0-9]{1,2})(?![0-9]|[./-][0-9])"
)
_CLOCK = r"[0-9]{1,2}:[0-9]{2}"
_GROUP = r"\(?[0-9]++\)?"
_BLANK = r"[ \t\u00a0\u202f]"
_BETWEEN_GROUPS = rf"(?:{_BLANK}?[./\u2013-]{_BLANK}?|{_BLANK}{{0,2}})"
# Groups of digits with little between; days and times pass by unchanged. A code such
# as AB-2024-001234 has a letter at one end.
_RUN = re.compile(
    rf"(?:(?<![0-9A-Za-z_])|(?=\+))(?:{_DAY}|{_CLOCK}"
    rf"|(?<!\w[-/])(?<![0-9][.,:])(?P<run>\+?{_GROUP}"
    rf"(?:(?:[./-]|{_BETWEEN_GROUPS}(?!{_DAY}|{_CLOCK})){_GROUP})*+)"
    r"(?!\w|[-/]\w))"
)
_WORDS = re.compile(r"\S+")
_NATIONAL = re.compile(r"\(?0[1-9]")
_NORTH_AMERICA = re.compile(
    r"(?:\+?1[ .-]?)?(?:\([2-9][0-9]{2}\) ?|[2-9][0-9]{2}[.-])[0-9]{3}[.-][0-9]{4}"
)
_BARE_NUMBER = re.compile(r"[-+]?[0-9]+(?:[.,][0-9]+)?")


def might_hold_personal_data(text: str) -> bool:
    """Return False if there is certainly nothing to mask in a text; cheap."""
    return bool("@" in text or _DIGITS.search(text) or _RUN_OF_17.search(text))


def masked_text(text: str, *, column: str = "") -> str:
    """Return a text with a mark in place of each piece of personal data.

    Parameters
    ----------
    text : str
    column : str, optional
        Its heading: below "phone" or "VIN" a number needs no word before it.

    Returns
    -------
    str
        The text itself where there is nothing to mask. Masking again changes nothing.
    """
    if not might_hold_personal_data(text):
        return text
    found = _without_vehicles(_without_addresses(text), column)
    found = _without_phones(found, column)
    # What stood beside something masked may now stand alone.
    return found if found == text else masked_text(found, column=column)


def masked_cells(
    cells: Mapping[str, Cell],
    *,
    fields: frozenset[str],
    free_text: frozenset[str],
    set_aside: bool,
) -> tuple[dict[str, Cell], list[str]]:
    """Return the cells of a row with personal data masked, and where there was some.

    Parameters
    ----------
    cells : mapping of str to Cell
    fields : frozenset of str
        The fields of the kind; any other name is a column of the user's own.
    free_text : frozenset of str
        Those of the fields that hold words of people.
    set_aside : bool
        The row is kept whole, whatever stands where: then every cell is looked at but
        what names a unit or a case. A plain number in a field stays, and codes that
        are groups of digits are not taken for telephone numbers.

    Returns
    -------
    cells : dict of str to Cell
        In the order given.
    masked : list of str
        The columns in which something was masked.
    """
    kept = dict(cells)
    masked = []
    for name, cell in cells.items():
        is_field = name in fields and name not in free_text
        if isinstance(cell, bool) or (is_field and not set_aside) or name in NAMES:
            continue
        text = str(cell)
        found = (
            _masked_field(name, text) if is_field else masked_text(text, column=name)
        )
        if found != text:
            kept[name] = NoValue(found) if isinstance(cell, NoValue) else found
            masked.append(name)
    return kept, masked


def masked_problems(problems: Iterable[Problem]) -> list[Problem]:
    """Return problems whose sentences show no personal data of the cells they quote."""
    return [
        replace(problem, message=masked_text(problem.message)) for problem in problems
    ]


def check_digit(number: str) -> str:
    """Return the check digit, 0 to 9 or X, that belongs in place 9 of a vehicle number.

    Parameters
    ----------
    number : str
        17 characters; the one in place 9 does not matter.
    """
    values = [int(_VALUES.get(character, character)) for character in number.upper()]
    rest = sum(map(int.__mul__, values, _WEIGHTS)) % 11
    return "X" if rest == 10 else str(rest)  # noqa: PLR2004 - one sign for ten


def _masked_field(name: str, text: str) -> str:
    if not might_hold_personal_data(text):
        return text
    found = _without_vehicles(_without_addresses(text))
    if name in CODES or _BARE_NUMBER.fullmatch(text.strip()):
        return found
    return _without_phones(found)


def _without_addresses(text: str) -> str:
    return _ADDRESS.sub(E_MAIL, text) if "@" in text else text


def _without_vehicles(text: str, column: str = "") -> str:
    named = bool(_VEHICLE_WORD.search(column))

    def masked(found: re.Match[str]) -> str:
        number = found[0]
        if not any(map(str.isdigit, number)):  # its last places are always digits
            return number
        if named or _VEHICLE_WORD.search(_before(found)):
            return VEHICLE
        is_checked = number[_CHECK_PLACE].upper() == check_digit(number)
        return VEHICLE if is_checked and not number.isdigit() else number

    return _VEHICLE.sub(masked, text)


def _without_phones(text: str, column: str = "") -> str:
    named = bool(_PHONE_WORD.search(column))

    def masked(found: re.Match[str]) -> str:
        run = found["run"]
        if run is None:
            return found[0]
        before = _before(found)
        return _without_phones_in(
            run,
            named=named or bool(_PHONE_WORD.search(before)),
            is_other=bool(_OTHER_WORD.search(before)),
        )

    return _RUN.sub(masked, text)


def _before(found: re.Match[str]) -> str:
    start = found.start()
    return found.string[max(0, start - _WORD_LENGTH) : start]


def _without_phones_in(run: str, *, named: bool, is_other: bool) -> str:
    # A number may have others beside it: from each place the longest that is one.
    places = [(word.start(), word.end()) for word in _WORDS.finditer(run)]
    parts = []
    done = first = 0
    while first < len(places):
        start = places[first][0]
        at_front = first == 0
        end = min(first + _MOST_WORDS, len(places))
        for last in reversed(range(first, end)):
            piece = run[start : places[last][1]]
            if _is_phone(
                piece, named=named and at_front, is_other=is_other and at_front
            ):
                parts += [run[done:start], PHONE]
                done = places[last][1]
                first = last
                break
        first += 1
    return "".join([*parts, run[done:]])


def _is_phone(piece: str, *, named: bool, is_other: bool) -> bool:
    n_digits = sum(map(str.isdigit, piece))
    in_groups = n_digits < len(piece)
    if piece.startswith("+"):
        return piece[1:2] not in "(0" and 8 <= n_digits <= 16  # noqa: PLR2004 - E.164, and (0)
    if is_other:
        return False
    if named and 7 <= n_digits <= 15:  # noqa: PLR2004 - E.164
        return True
    if piece.startswith("00"):
        return piece[2:3] != "0" and 11 <= n_digits <= 17  # noqa: PLR2004 - E.164 with 00
    if _NATIONAL.match(piece):
        longest = 12 if not in_groups or " " in piece else 14
        return (9 if in_groups else 10) <= n_digits <= longest
    return bool(_NORTH_AMERICA.fullmatch(piece))
