"""The tables of a draft below its columns: dates, units, words, constants."""

from collections.abc import Iterator

from ingest import measures
from ingest.mapping.fields import form_of
from ingest.mapping.guesses import Guess
from ingest.mapping.matching import CURRENCIES, Match
from ingest.mapping.toml_text import comment, quoted
from ingest.personal_data import masked_text

# Signs that stand for one currency only; a dollar may be one of several.
SIGNS = {"€": "EUR", "£": "GBP"}
COSTS = ("parts_cost", "freight_cost")
MOST_WORDS = 60
MOST_STRANGE = 20


def evidence(guess: Guess) -> str:
    """Return how many of the cells looked at fit, in words."""
    if not guess.column.n_cells:
        return "no cell of the sample is filled"
    return f"{guess.n_fit} of {guess.column.n_cells} sampled cells fit"


def dates_lines(match: Match) -> Iterator[str]:
    """Yield the formats of the dates that are not written as the field takes them."""
    dated = [one for one in match.guesses if one.formats]
    yield from _header("dates", dated)
    for one in dated:
        first, other, why = _in_order(one, dated)
        formats = ", ".join(quoted(text) for text in (first, *one.formats[1:]))
        if len(one.formats) > 1:
            formats = f"[{formats}]"
        yield f"{one.field} = {formats}  # {evidence(one)}"
        if other:
            yield f"# {one.field} = {quoted(other)}  # check this: {why}"


def _in_order(one: Guess, dated: list[Guess]) -> tuple[str, str | None, str]:
    """Return the likelier order of day and month, the other one, and why it is so."""
    first, other = one.formats[0], one.swapped
    if not other:
        return first, None, ""
    sure = {guess.formats[0] for guess in dated if not guess.swapped}
    if (first in sure) != (other in sure):
        first, other = (first, other) if first in sure else (other, first)
        return first, other, "it fits as well, but other dates of the file do not"
    return first, other, "day and month fit either way round; keep the right line"


def units_lines(match: Match) -> Iterator[str]:
    """Yield the units that are not the field's own."""
    measured = [one for one in match.guesses if one.unit]
    yield from _header("units", measured)
    for one in measured:
        where = "the column name" if one.named_unit else "the cells"
        own = measures.FIELD_UNITS[one.field]
        yield f"{one.field} = {quoted(str(one.unit))}  # from {where}; kept in {own}"


def codes_lines(match: Match) -> Iterator[str]:
    """Yield what each word of a column means, as far as that is known."""
    for one in match.guesses:
        if not (one.words or one.likes or one.strange):
            continue
        yield ""
        yield f"[codes.{one.field}]  # {evidence(one)}"
        for word, code in list(one.words.items())[:MOST_WORDS]:
            yield f"{quoted(word)} = {quoted(code)}"
        for word, code in list(one.likes.items())[:MOST_WORDS]:
            yield comment(
                f"{quoted(word)} = {quoted(code)}  # like a word for it, no more:"
                " take the first # away if it is right"
            )
        for word, count in list(one.strange.items())[:MOST_STRANGE]:
            if masked_text(word) != word:
                continue  # a mapping is kept with what is read with it
            cells = "1 cell" if count == 1 else f"{count} cells"
            yield comment(f'{quoted(word)} = ""  # {cells}; no known word is like it')
        left = len(one.strange) - MOST_STRANGE
        if left > 0:
            yield f"# and {left} more words that are like none"


def separators_lines(match: Match) -> Iterator[str]:
    """Yield what stands between the parts of lists."""
    listed = [one for one in match.guesses if one.separator]
    yield from _header("separators", listed)
    for one in listed:
        yield f"{one.field} = {quoted(str(one.separator))}  # {evidence(one)}"


def constants_lines(match: Match) -> Iterator[str]:
    """Yield values that stand in column names, and places for required ones."""
    lines = [*_currency(match), *_unit(match), *_required_codes(match)]
    yield from _header("constants", lines)
    yield from lines


def _header(table: str, content: object) -> Iterator[str]:
    if content:
        yield ""
        yield f"[{table}]"


def _currency(match: Match) -> Iterator[str]:
    filled = {one.field: one for one in match.guesses}
    names = {
        SIGNS.get(unit.strip(), unit.strip())
        for field in COSTS
        if field in filled and (unit := filled[field].named_unit)
    }
    if "currency" not in filled and len(names) == 1 and names <= CURRENCIES:
        yield f"currency = {quoted(names.pop())}  # from a column name"


def _unit(match: Match) -> Iterator[str]:
    filled = {one.field: one for one in match.guesses}
    unit = filled["value"].named_unit if "value" in filled else None
    if not unit or "unit" in filled:
        return
    try:
        symbol = measures.unit_symbol(unit)
    except measures.UnknownUnitError:
        return
    yield f"unit = {quoted(symbol)}  # from a column name"


def _required_codes(match: Match) -> Iterator[str]:
    for field in match.missing:
        codes = sorted(form_of(field).codes)
        if codes:
            known = ", ".join(codes) if len(codes) <= MOST_STRANGE else "a known code"
            yield f'# {field} = ""  # for every row, if it is one for all: {known}'
