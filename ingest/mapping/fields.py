"""What a field takes, asked of the models themselves.

Nothing about a field is written down twice: whether it takes a day, a number, or the
codes of one list follows from what its model accepts and how it refuses the rest.
"""

from dataclasses import dataclass
from functools import cache

from ingest import catalogue
from ingest.cells import known_codes
from ingest.readers.source import Problem
from ingest.records import KINDS, KindSpec
from ingest.validation import validated

# Lists whose codes a field may take; checks and failure modes have tables of their own.
CODE_LISTS = (*catalogue.CODE_KINDS, "checks", "failure_modes")
# Words that the program knows without a list of the catalogue.
YES_NO = frozenset({"yes", "no", "unknown"})
# The first that a field of dates takes says what it is; a moment takes a day too.
PROBES = {
    "month": "2026-03",
    "moment": "2026-03-05T10:15",
    "day": "2026-03-05",
}


@dataclass(frozen=True, slots=True)
class FieldForm:
    """What a field takes.

    Attributes
    ----------
    form : {"day", "month", "moment", "number", "codes", "text"}
    code_list : str or None
        The list of the catalogue that its codes are from.
    codes : frozenset of str
        Empty unless the form is "codes".
    is_list : bool
        Several values with `;` between are taken.
    """

    form: str
    code_list: str | None = None
    codes: frozenset[str] = frozenset()
    is_list: bool = False


@cache
def specs_with(field: str) -> tuple[KindSpec, ...]:
    """Return the kinds that have a field, in the order in which they are taken in."""
    return tuple(spec for spec in KINDS.values() if field in spec.fields)


@cache
def all_fields() -> frozenset[str]:
    """Return the fields of all kinds."""
    return frozenset(field for spec in KINDS.values() for field in spec.fields)


def refusal(spec: KindSpec, field: str, value: str) -> Problem | None:
    """Return why a field does not take a value, None if it does.

    Rules that look at other fields are not asked: they depend on the row.
    """
    found = validated(spec, {field: value})
    if not isinstance(found, list):
        return None
    return next((one for one in found if one.field == field), None)


def takes(field: str, value: str) -> bool:
    """Say whether any kind with this field takes the value."""
    return any(refusal(spec, field, value) is None for spec in specs_with(field))


@cache
def form_of(field: str) -> FieldForm:
    """Return what a field takes.

    Parameters
    ----------
    field : str
        One of `all_fields()`.
    """
    found = refusal(specs_with(field)[0], field, "?")
    code = found.code if found else None
    if code == "not_a_date":
        return FieldForm(
            next((form for form, probe in PROBES.items() if takes(field, probe)), "day")
        )
    if code == "not_a_number":
        return FieldForm("number")
    if code == "unknown_code":
        return _code_form(field)
    return FieldForm("text", is_list=takes(field, "x*1;y*1") and not takes(field, "?"))


def _code_form(field: str) -> FieldForm:
    for name in CODE_LISTS:
        codes = known_codes(name)
        if all(takes(field, code) for code in codes):
            # One code twice is one code, where several are taken at all.
            twice = ";".join([min(codes)] * 2)
            return FieldForm("codes", name, codes, is_list=takes(field, twice))
    return FieldForm(
        "codes", codes=frozenset(word for word in YES_NO if takes(field, word))
    )
