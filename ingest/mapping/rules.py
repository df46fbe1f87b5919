"""What may stand in a mapping file, and what is wrong with one that says more."""

import datetime as dt
from collections.abc import Iterator
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from ingest import measures
from ingest.cells import nearest
from ingest.mapping.apply import folded
from ingest.mapping.dates import OWN_NOTATION, why_no_format
from ingest.mapping.fields import all_fields, form_of, refusal, specs_with
from ingest.records import KINDS


def _as_text(value: Any) -> Any:
    # TOML has numbers and days of its own; a cell is text.
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return value


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Value = Annotated[str, BeforeValidator(_as_text)]
Formats = Annotated[list[str], BeforeValidator(_as_list), Field(min_length=1)]


class MappingContent(BaseModel):
    """The keys of a mapping file; `ingest.mapping.mapping_file` shows them all."""

    model_config = ConfigDict(extra="forbid", strict=True)

    kind: str | None = None
    sheet: str | None = None
    columns: dict[str, str] = {}
    dates: dict[str, Formats] = {}
    units: dict[str, str] = {}
    codes: dict[str, dict[str, Value]] = {}
    separators: dict[str, str] = {}
    constants: dict[str, Value] = {}


class Problem(NamedTuple):
    """What is wrong where, with its value, and what to do about it."""

    what: str
    hint: str


def first_problem(content: MappingContent) -> Problem | None:
    """Return what is wrong, None if nothing; more may follow from the first."""
    return next(_problems(content), None)


def _problems(content: MappingContent) -> Iterator[Problem]:
    if content.kind is not None and content.kind not in KINDS:
        yield Problem(
            f"`kind`: there is no kind `{content.kind}`",
            _nearest(content.kind, frozenset(KINDS)) + f"Kinds are {', '.join(KINDS)}.",
        )
    known = frozenset(KINDS[content.kind].fields) if content.kind else all_fields()
    for table, field in _named_fields(content):
        if field not in known:
            kind = f" of {content.kind}" if content.kind else ""
            command = f"mendfleet fields {content.kind or ''}".strip()
            yield Problem(
                f"{table}: there is no field `{field}`{kind}",
                _nearest(field, known) + f"`{command}` lists the fields.",
            )
    yield from _column_problems(content.columns)
    for field, formats in content.dates.items():
        yield from _date_problems(field, formats)
    for field, unit in content.units.items():
        yield from _unit_problems(field, unit)
    for field, words in content.codes.items():
        yield from _word_problems(field, words, content.kind)
    for field, separator in content.separators.items():
        if not form_of(field).is_list or not separator.strip(" "):
            yield Problem(
                f"[separators] {field} = {separator!r}: "
                + ("it is empty" if form_of(field).is_list else "it is no list"),
                f"Lists are {', '.join(_lists(known))}; give the sign between parts.",
            )
    for field, value in content.constants.items():
        yield from _value_problems(f"[constants] {field}", field, value, content.kind)


def _named_fields(content: MappingContent) -> Iterator[tuple[str, str]]:
    for column, field in content.columns.items():
        if field:
            yield f"[columns] `{column}`", field
    for table in ("dates", "units", "separators", "constants"):
        for field in getattr(content, table):
            yield f"[{table}]", field
    for field in content.codes:
        yield f"[codes.{field}]", field


def _nearest(word: str, known: frozenset[str]) -> str:
    like = nearest(word, known)
    return f"The nearest is `{like}`. " if like else ""


def _lists(known: frozenset[str]) -> list[str]:
    return sorted(field for field in known if form_of(field).is_list)


def _column_problems(columns: dict[str, str]) -> Iterator[Problem]:
    column_of: dict[str, str] = {}
    for column, field in columns.items():
        other = column_of.setdefault(field, column)
        if field and other != column:
            yield Problem(
                f"[columns]: `{other}` and `{column}` are both for {field}",
                'Keep the one that counts, and give the other an empty field: "".',
            )


def _date_problems(field: str, formats: list[str]) -> Iterator[Problem]:
    form = form_of(field).form
    if form not in OWN_NOTATION:
        fields = sorted(f for f in all_fields() if form_of(f).form in OWN_NOTATION)
        yield Problem(
            f"[dates] {field}: it is no date", f"Dates are {', '.join(fields)}."
        )
        return
    for text in formats:
        if why := why_no_format(text, form):
            yield Problem(
                f"[dates] {field} = {text!r}: {why}",
                "Write a format such as `%d.%m.%Y`, `%m/%d/%y %H:%M` or `%m/%Y`.",
            )


def _unit_problems(field: str, unit: str) -> Iterator[Problem]:
    try:
        measures.field_unit_symbol(unit, field)
    except measures.UnknownUnitError as error:
        hint = f"Fields with a unit: {', '.join(measures.FIELD_UNITS)}."
        if field == "value":
            hint = f'Give the unit of readings as `unit = "{unit}"` in [constants].'
        elif measures.FIELD_UNITS.get(field) == "mm2":
            hint = (
                "A gauge is no unit: translate its words one by one, such as"
                f' `"10 AWG" = 5.26` in [codes.{field}].'
            )
        yield Problem(f"[units] {field} = {unit!r}: {error}", hint)


def _word_problems(
    field: str, words: dict[str, str], kind: str | None
) -> Iterator[Problem]:
    code_of: dict[str, str] = {}
    for word, code in words.items():
        if code_of.setdefault(folded(word), code) != code:
            yield Problem(
                f"[codes.{field}] `{word}`: in other capitals or blanks the same word"
                f" means `{code_of[folded(word)]}`",
                "Keep one line for each word.",
            )
        if code:
            yield from _value_problems(f"[codes.{field}] `{word}`", field, code, kind)


def _value_problems(
    where: str, field: str, value: str, kind: str | None
) -> Iterator[Problem]:
    specs = [KINDS[kind]] if kind else list(specs_with(field))
    refusals = [refusal(spec, field, value) for spec in specs]
    if refusals and all(refusals) and (first := refusals[0]):
        yield Problem(
            f"{where} = {value!r}: {first.message}", "Give a value the field takes."
        )
