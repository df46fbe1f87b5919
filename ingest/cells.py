"""From a cell to a value: the kinds of field that records are made of.

A cell is text as it stands in the file. What Python would also take for a date or a
number (`1_000`, `+5`, `2026-01-02T00:00:00` for a day) is refused: a cell that can be
read in two ways is wrong more often than it is meant. A cell may also be a truth
value or an error of a workbook, which no field takes.
"""

import datetime as dt
import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache, partial
from typing import Annotated, Any, LiteralString, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    GetCoreSchemaHandler,
    StringConstraints,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from ingest import catalogue

# More digits than a column can hold are out of range, not a slow conversion.
WHOLE = re.compile(r"-?[0-9]{1,40}")
NUMBER = re.compile(r"-?(?:[0-9]{1,40}(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]{1,2})?")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
MONTH = re.compile(r"[0-9]{4}-[0-9]{2}(?:-01)?")
MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
    r"(?:[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,9})?)?"
    r"(?:Z|[-+][0-9]{2}:?[0-9]{2})?)?"
)
PART = re.compile(r"[^*;]+\*[0-9]+(?:\.[0-9]+)?")
# What DECIMAL(14, 4) of the store holds.
MONEY_PLACES = 4
MOST_MONEY = 10**10
# Cells repeat from row to row; the answer to one is remembered for the next.
REMEMBERED = 1 << 14
# Codes that say "nothing": beside another code they contradict it.
ALONE = frozenset({"none_reported", "clean"})


_T = TypeVar("_T")


def problem(code: LiteralString, words: str) -> PydanticCustomError:
    """Return the error that a validator raises: a stable code and a sentence."""
    # The words go in as a value: braces in a cell must not be read as places.
    return PydanticCustomError(code, "{words}", {"words": words})


@lru_cache
def known_codes(kind: str) -> frozenset[str]:
    """Return the codes of one list of the catalogue, failure modes and checks too."""
    if kind == "failure_modes":
        return frozenset(catalogue.failure_modes())
    if kind == "checks":
        return frozenset(catalogue.checks())
    return frozenset(catalogue.codes(kind))


def nearest(word: str, known: frozenset[str]) -> str | None:
    """Return the known word that looks most like `word`, if any does."""
    found = difflib.get_close_matches(word, sorted(known), n=1)
    return found[0] if found else None


def _known(cell: str, kind: str) -> str:
    known = known_codes(kind)
    if cell in known:
        return cell
    like = nearest(cell, known)
    hint = f"; `{like}` is" if like else ""
    raise problem("unknown_code", f"`{cell[:40]}` is no code of the catalogue{hint}")


def _several(cell: str, one: Callable[[str], str]) -> str:
    found = dict.fromkeys(one(part.strip()) for part in cell.split(";") if part.strip())
    if not found:
        raise problem("bad_pattern", "must be codes with `;` between")
    if len(found) > 1 and (stands_alone := ALONE & found.keys()):
        word = next(iter(stands_alone))
        raise problem("bad_pattern", f"`{word}` stands alone or not at all")
    return ";".join(found)


def _part(cell: str) -> str:
    name, _, quantity = cell.rpartition("*")
    if not PART.fullmatch(cell) or not name.strip() or float(quantity) == 0:
        raise problem("bad_pattern", "must be `part*quantity` with `;` between")
    return f"{name.strip()}*{quantity}"


def _parts(cell: str) -> str:
    # A part named twice was used twice: nothing is left out here.
    parts = [_part(part.strip()) for part in cell.split(";") if part.strip()]
    if not parts:
        raise problem("bad_pattern", "must be `part*quantity` with `;` between")
    return ";".join(parts)


def _number(cell: Any) -> Any:
    if not isinstance(cell, str) or not NUMBER.fullmatch(text := cell.strip()):
        raise problem("not_a_number", "must be a number such as 12 or 0.5")
    return text


def _whole(cell: Any) -> Any:
    if not isinstance(cell, str) or not WHOLE.fullmatch(text := cell.strip()):
        raise problem("not_a_number", "must be a whole number such as 12")
    return text


def _day(cell: Any) -> dt.date:
    text = cell.strip() if isinstance(cell, str) else ""
    if DAY.fullmatch(text):
        try:
            return dt.date.fromisoformat(text)
        except ValueError:  # 30 February
            pass
    raise problem("not_a_date", "must be a day as YYYY-MM-DD")


def _month(cell: Any) -> dt.date:
    # A spreadsheet turns a month into its first day; any other day is none.
    text = cell.strip() if isinstance(cell, str) else ""
    if MONTH.fullmatch(text):
        try:
            return dt.date(int(text[:4]), int(text[5:7]), 1)
        except ValueError:  # month 13
            pass
    raise problem("not_a_date", "must be a month as YYYY-MM")


def moment_of(cell: Any) -> dt.datetime:
    """Return the time that a cell says, in UTC where it names a zone."""
    text = cell.strip() if isinstance(cell, str) else ""
    if MOMENT.fullmatch(text):
        try:
            moment = dt.datetime.fromisoformat(text)
            if moment.tzinfo:
                moment = moment.astimezone(dt.UTC).replace(tzinfo=None)
        except (ValueError, OverflowError):  # 30 February, or year 0 in UTC
            pass
        else:
            return moment
    raise problem(
        "not_a_date", "must be YYYY-MM-DD or YYYY-MM-DDThh:mm, with or without zone"
    )


def _money(cell: Any) -> Decimal:
    amount = Decimal(_number(cell))
    if amount < 0:
        raise problem("out_of_range", "must be at least 0")
    if amount >= MOST_MONEY or amount != round(amount, MONEY_PLACES):
        raise problem(
            "out_of_range",
            f"must be below {MOST_MONEY} with at most {MONEY_PLACES} decimal places",
        )
    return amount


def _remembering(one: Callable[[Any], _T]) -> Callable[[Any], _T]:
    return lru_cache(maxsize=REMEMBERED)(one)


@dataclass(frozen=True, slots=True)
class CodesOf:
    """Says that a field holds codes of a list of the catalogue.

    Attributes
    ----------
    kind : str
        The list.
    several : bool
        Whether codes may follow each other with `;` between.
    """

    kind: str
    several: bool

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Check the text after all else about it was checked."""
        one = partial(_known, kind=self.kind)
        check = partial(_several, one=one) if self.several else one
        return core_schema.no_info_after_validator_function(
            _remembering(check), handler(source)
        )


@dataclass(frozen=True, slots=True)
class OneOf:
    """Says that a field holds one of a few whole numbers."""

    values: tuple[int, ...]

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Check the number after all else about it was checked."""
        return core_schema.no_info_after_validator_function(self._one, handler(source))

    def __str__(self) -> str:
        """Return the numbers as words."""
        return " or ".join(map(str, self.values))

    def _one(self, number: int) -> int:
        if number not in self.values:
            raise problem("out_of_range", f"must be {self}")
        return number


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a cell of a field may hold, in words for people."""

    words: str


def code_of(kind: str) -> CodesOf:
    """Return what checks one code of a list of the catalogue."""
    return CodesOf(kind, several=False)


def codes_of(kind: str) -> CodesOf:
    """Return what checks codes of a list with `;` between, and normalises them."""
    return CodesOf(kind, several=True)


Text = Annotated[str, StringConstraints(strip_whitespace=True, max_length=60)]
ShortText = Annotated[str, StringConstraints(strip_whitespace=True, max_length=40)]
LongText = Annotated[str, StringConstraints(strip_whitespace=True, max_length=2000)]
Codes = Annotated[str, StringConstraints(strip_whitespace=True, max_length=2000)]
# `to_upper` acts after the pattern, hence a-z in it: and only ASCII is upper-cased.
Serial = Annotated[
    str,
    StringConstraints(
        strip_whitespace=True,
        to_upper=True,
        min_length=3,
        max_length=40,
        pattern=r"^[A-Za-z0-9._/-]+$",
    ),
    Allowed("3 to 40 of A-Z 0-9 . _ / -"),
]
Currency = Annotated[
    str,
    StringConstraints(strip_whitespace=True, pattern="^[A-Z]{3}$"),
    Allowed("three capitals of ISO 4217"),
]
Parts = Annotated[
    Codes,
    AfterValidator(_remembering(_parts)),
    Allowed("`part*quantity` with `;` between"),
]
Day = Annotated[dt.date, BeforeValidator(_remembering(_day)), Allowed("YYYY-MM-DD")]
Month = Annotated[dt.date, BeforeValidator(_remembering(_month)), Allowed("YYYY-MM")]
Moment = Annotated[
    dt.datetime,
    BeforeValidator(_remembering(moment_of)),
    Allowed("YYYY-MM-DD or YYYY-MM-DDThh:mm, with or without zone"),
]
Money = Annotated[Decimal, BeforeValidator(_remembering(_money))]
Number = BeforeValidator(_remembering(_number))
Whole = BeforeValidator(_remembering(_whole))


class Record(BaseModel):
    """What one row says. A cell left empty is not recorded: None, never zero."""

    model_config = ConfigDict(
        extra="ignore", frozen=True, use_attribute_docstrings=True
    )
