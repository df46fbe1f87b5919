"""The data dictionary: every field of every kind, read from the models themselves."""

from dataclasses import dataclass
from typing import Any, get_args

from pydantic.fields import FieldInfo

from ingest import catalogue, cells
from ingest.field_marks import mark, marks
from ingest.kinds.day_order import EARLIER
from ingest.records import KindSpec

# Where a rule between fields asks for another order in the model than in a file.
FIRST_FIELDS = {
    "repairs": ("case_id", "serial", "received_on", "failed_on", "last_known_good_on"),
    "readings": (
        "case_id", "check", "taken_at", "stage", "point", "condition", "sequence",
        "value", "unit", "outcome",
    ),
}  # fmt: skip
# What a cell is read as, by the check that reads it.
TYPES = {
    "month": get_args(cells.Month)[1],
    "day": get_args(cells.Day)[1],
    "time": get_args(cells.Moment)[1],
    "money": get_args(cells.Money)[1],
    "whole number": cells.Whole,
    "number": cells.Number,
}


@dataclass(frozen=True, slots=True)
class Word:
    """One code of a field.

    Attributes
    ----------
    code, label, definition : str
    caution : str
        What to mind before doing it; empty where there is nothing.
    """

    code: str
    label: str
    definition: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One field of a kind.

    Attributes
    ----------
    kind, field : str
    type : str
        text, code, codes, whole number, number, money, day, month or time.
    required : bool
        Whether no row may leave it empty.
    shortest, longest : int or None
        Characters.
    least, most : float or None
        Both allowed.
    numbers : tuple of int
        The only ones allowed; empty where there are others.
    after : tuple of (str, bool)
        Days it must not lie before; nor on, where True.
    default : object
        What an empty cell stands for; None where it is not recorded.
    allowed : str
        What a cell may hold, in words.
    codes : tuple of Word
    meaning : str
    """

    kind: str
    field: str
    type: str
    required: bool
    shortest: int | None
    longest: int | None
    least: float | None
    most: float | None
    numbers: tuple[int, ...]
    after: tuple[tuple[str, bool], ...]
    default: object
    allowed: str
    codes: tuple[Word, ...]
    meaning: str

    def limits(self) -> str:
        """Return all that a cell must keep to, in words."""
        parts = [self.allowed] if self.allowed else []
        if self.numbers:
            parts.append(" or ".join(map(str, self.numbers)))
        elif self.least is not None and self.most is not None:
            parts.append(f"{self.least:,.10g} to {self.most:,.10g}".replace(",", " "))
        if self.type == "money":
            places = cells.MONEY_PLACES
            parts.append(f"0 to below 10^10, at most {places} decimal places")
        if self.type == "codes":
            parts.append("`;` between")
        elif self.type == "text" and self.longest and not self.shortest:
            parts.append(f"at most {self.longest} characters")
        parts += [
            f"{'after' if strictly else 'not before'} {name}"
            for name, strictly in self.after
        ]
        if self.default is not None:
            parts.append(f"empty stands for {self.default}")
        return "; ".join(parts)


def entries(spec: KindSpec) -> tuple[Entry, ...]:
    """Return the fields of a kind in the order of a file."""
    first = FIRST_FIELDS.get(spec.name, ())
    names = dict.fromkeys((*first, *spec.fields))
    return tuple(_entry(spec, name, spec.model.model_fields[name]) for name in names)


def _entry(spec: KindSpec, name: str, field: FieldInfo) -> Entry:
    one_of = mark(field, cells.OneOf)
    allowed = mark(field, cells.Allowed)
    return Entry(
        kind=spec.name,
        field=name,
        type=_type(field),
        required=field.is_required(),
        shortest=_limit(field, "min_length"),
        longest=_limit(field, "max_length"),
        least=_limit(field, "ge"),
        most=_limit(field, "le"),
        numbers=one_of.values if one_of else (),
        after=_after(spec, name),
        default=None if field.is_required() else field.default,
        allowed=allowed.words if allowed else "",
        codes=_codes(field),
        meaning=str(field.description),
    )


def _type(field: FieldInfo) -> str:
    codes_of = mark(field, cells.CodesOf)
    if codes_of:
        return "codes" if codes_of.several else "code"
    found = list(marks(field))
    for words, check in TYPES.items():
        if check in found:
            return words
    return "code" if _choices(field) else "text"


def _after(spec: KindSpec, name: str) -> tuple[tuple[str, bool], ...]:
    found = EARLIER.get(name, ())
    return tuple(
        (day, strictly) for day, strictly in found if day in spec.model.model_fields
    )


def _codes(field: FieldInfo) -> tuple[Word, ...]:
    codes_of = mark(field, cells.CodesOf)
    if codes_of is None:
        return tuple(
            Word(code, code.capitalize(), str(field.description))
            for code in _choices(field)
        )
    if codes_of.kind == "checks":
        return tuple(
            Word(check.code, check.label, check.measures, check.caution)
            for check in catalogue.checks().values()
        )
    listed = (
        catalogue.failure_modes()
        if codes_of.kind == "failure_modes"
        else catalogue.codes(codes_of.kind)
    )
    return tuple(Word(c.code, c.label, c.definition) for c in listed.values())


def _choices(field: FieldInfo) -> tuple[str, ...]:
    # Of `Literal["yes", "no"] | None`.
    return tuple(
        choice
        for part in get_args(field.annotation)
        for choice in get_args(part)
        if isinstance(choice, str)
    )


def _limit(field: FieldInfo, name: str) -> Any:
    found = (getattr(part, name, None) for part in marks(field))
    return next((limit for limit in found if limit is not None), None)
