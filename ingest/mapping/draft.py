"""A draft of a mapping file, made from column names and a sample of the cells.

A draft is a start for a person, not a decision: every guess says what it rests on, a
guess without enough to rest on is a comment, and nothing is used before a person has
read it.
"""

from collections.abc import Iterator
from pathlib import Path

from ingest.errors import FileError
from ingest.file_kind import known_kind
from ingest.mapping.apply import folded
from ingest.mapping.draft_tables import (
    codes_lines,
    constants_lines,
    dates_lines,
    evidence,
    separators_lines,
    units_lines,
)
from ingest.mapping.guesses import BY_CELLS, Guess, names_unit
from ingest.mapping.matching import NEARLY, Match, matches
from ingest.mapping.sample import Column, samples_of
from ingest.mapping.toml_text import can_be_written, comment, quoted
from ingest.mapping.words import OWN_NAME
from ingest.measures import FIELD_UNITS
from ingest.personal_data import masked_text

SHOWN_CELLS = 3
SHOWN_LETTERS = 30


def suggest_mapping(path: Path, *, kind: str | None = None) -> str:
    """Return a draft of a mapping for a file, as TOML with comments.

    Parameters
    ----------
    path : pathlib.Path
        Of a workbook the sheet is taken that fits best.
    kind : str, optional
        Without it the kind that fits best.

    Returns
    -------
    str
        What `read_mapping` takes; a person must check it.

    Raises
    ------
    UsageError
        `kind` is no kind.
    FileError
        The file cannot be read, or has no columns.
    """
    if kind:
        known_kind(kind)
    samples = samples_of(path)
    if not samples:
        raise FileError(
            f"{path} has no columns to make a mapping from.",
            hint="Look whether its first row holds the names of the columns.",
        )
    found = matches(samples, kind)
    lines = _lines(path, found, given=bool(kind), n_sheets=len(samples))
    return "\n".join(lines) + "\n"


def _lines(
    path: Path, found: list[Match], *, given: bool, n_sheets: int
) -> Iterator[str]:
    best = found[0]
    sheet = f", sheet `{best.sample.sheet}`" if best.sample.sheet else ""
    yield comment(f"Draft of a column mapping for {path.name}{sheet},")
    yield f"# made from its column names and {best.sample.n_rows} sampled rows."
    yield "# A person must check every line; a line that begins with # does nothing."
    yield ""
    yield from _kind_lines(found, given=given)
    if best.sample.sheet and n_sheets > 1 and can_be_written(best.sample.sheet):
        yield f"sheet = {quoted(best.sample.sheet)}"
    if best.sample.comma_columns:
        yield from _comma_lines(best)
    yield ""
    yield "[columns]"
    yield from _column_lines(best)
    for table in (
        dates_lines, units_lines, codes_lines, separators_lines, constants_lines,
    ):  # fmt: skip
        yield from table(best)


def _kind_lines(found: list[Match], *, given: bool) -> Iterator[str]:
    best = found[0]
    name = quoted(best.spec.name)
    if given:
        yield f"kind = {name}  # as asked for"
    elif not best.guesses:
        yield f"# kind = {name}  # without ground: no column is named like a field"
    else:
        required = ", ".join(best.spec.required)
        n_found = len(best.spec.required) - len(best.missing)
        yield (
            f"kind = {name}  # {len(best.guesses)} columns fit, {n_found} of"
            f" {len(best.spec.required)} required ones ({required})"
        )
    others = [
        one.spec.name
        for one in found[1:]
        if one.sample is best.sample and one.score > NEARLY * best.score > 0
    ]
    if others:
        yield f"# check this: {' or '.join(others)} fits nearly as well"


def _comma_lines(match: Match) -> Iterator[str]:
    names = ", ".join(f"`{name}`" for name in match.sample.comma_columns)
    yield comment(f"Decimal commas in {names}:")
    if match.sample.decimal_comma:
        yield "# they are understood in this file as it stands."
    else:
        yield "# they are not understood in this file; save it with decimal points, or"
        yield "# as CSV with semicolons."


def _column_lines(match: Match) -> Iterator[str]:
    by_column = {one.column.name: one for one in match.guesses}
    mapped = {folded(one) for one in by_column if by_column[one].likeness < OWN_NAME}
    for name in match.missing:
        candidates = match.candidates(name)
        yield f"# {name} is required, and no column says that it is one:"
        for one in candidates:
            yield comment(f"{_line(one)}; {_shown(one.column)}")
            if one.formats:
                yield comment(f"with {name} = {quoted(one.formats[0])} in [dates]")
        if not candidates:
            yield "# nothing in the file looks like it."
    for column in match.sample.columns:
        guess = by_column.get(column.name)
        if guess and guess.likeness == OWN_NAME:
            yield comment(f"{column.name}: already our name; {evidence(guess)}")
        elif guess:
            yield _line(guess)
        elif folded(column.name) in mapped and can_be_written(column.name):
            yield f'{quoted(column.name)} = ""  # named like another column: left out'
        elif doubtful := match.doubtful.get(column.name):
            yield comment(f"{_line(doubtful)}; {_shown(column)}")
        else:
            yield comment(f"not matched: {quoted(column.name)}; {_shown(column)}")


def _line(guess: Guess) -> str:
    how = "by its cells" if guess.likeness == BY_CELLS else "by its name"
    return (
        f"{quoted(guess.column.name)} = {quoted(guess.field)}"
        f"  # {how}; {evidence(guess)}{_unit_doubt(guess)}"
    )


def _unit_doubt(guess: Guess) -> str:
    own = FIELD_UNITS.get(guess.field)
    # A gauge is translated word by word; that table says so itself.
    if (
        own is None
        or guess.unit
        or guess.words
        or names_unit(guess.column, guess.field)
    ):
        return ""
    return f"; check this: no unit is named, taken as {own}"


def _shown(column: Column) -> str:
    # A mapping is kept with what is read with it: it holds no one's number either.
    masked = (
        masked_text(cell, column=column.name)
        for cell in list(column.cells)[:SHOWN_CELLS]
    )
    cells = [
        cell if len(cell) <= SHOWN_LETTERS else f"{cell[: SHOWN_LETTERS - 1]}…"
        for cell in masked
    ]
    return f"cells such as {', '.join(cells)}" if cells else "no cells"
