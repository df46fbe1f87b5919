"""What one column may be: a field, with the changes that make its cells fit.

A cell counts as fitting when the model of the kind takes what the guessed mapping
makes of it: the evidence is judged by the same rules as the rows will be.
"""

import dataclasses
import math
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from ingest import measures
from ingest.mapping.apply import AMOUNT, Mapping
from ingest.mapping.date_guess import guess_formats
from ingest.mapping.dates import OWN_NOTATION
from ingest.mapping.fields import FieldForm, form_of, refusal
from ingest.mapping.sample import Column
from ingest.mapping.toml_text import can_be_written
from ingest.mapping.words import OWN_NAME, SAME_WORDS, code_like, name_likeness
from ingest.records import KindSpec

# How sure cells alone make us.
BY_CELLS = 0.5
SEPARATORS = (",", "/", "|", "+", "\n")
# Of the cells, how many must fit for a name that says the field, or is only like it.
ENOUGH = 0.5
ENOUGH_FOR_A_LIKENESS = 0.8
# A cell of so many letters is a sentence, not a word for a code.
SENTENCE = 40
GAUGE = re.compile(r"(?:AWG\s*)?(?P<number>[0-9]{1,2})\s*(?:AWG)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Guess:
    """One column as one field.

    Attributes
    ----------
    column : Column
    field : str
    likeness : float
        Of the names, from 0 to 1.
    n_fit : int
        Cells that fit after the changes.
    formats : tuple of str
    swapped : str or None
        As in `DateGuess`.
    unit : str or None
        The unit the numbers are in, where it is not the field's own.
    words : dict of str to str
        Words of the column with the code that each is known to mean.
    likes : dict of str to str
        Words that are only like one that means the code.
    strange : dict of str to int
        Words that are like none, with how often they occur.
    separator : str or None
    named_unit : str or None
        What the column name holds in brackets.
    """

    column: Column
    field: str
    likeness: float
    n_fit: int = 0
    formats: tuple[str, ...] = ()
    swapped: str | None = None
    unit: str | None = None
    words: dict[str, str] = dataclasses.field(default_factory=dict)
    likes: dict[str, str] = dataclasses.field(default_factory=dict)
    strange: dict[str, int] = dataclasses.field(default_factory=dict)
    separator: str | None = None
    named_unit: str | None = None

    @property
    def share(self) -> float:
        """The share of the cells that fit; 0 for a column without cells."""
        return self.n_fit / self.column.n_cells if self.column.n_cells else 0.0

    @property
    def score(self) -> float:
        """How sure the guess is, to choose between guesses."""
        return self.likeness * (1 + self.share) / 2

    def is_good(self, spec: KindSpec) -> bool:
        """Say whether name and cells together are evidence enough."""
        if self.likeness == OWN_NAME:
            return True
        says_it = self.likeness >= SAME_WORDS
        required = self.field in spec.required
        if not self.column.n_cells:
            return says_it and not required
        if form_of(self.field).form == "codes" and says_it and not required:
            return not self.is_prose
        return self.share >= (ENOUGH if says_it else ENOUGH_FOR_A_LIKENESS)

    @property
    def is_prose(self) -> bool:
        """Cells are sentences, of which no code list is made."""
        long = sum(n for cell, n in self.column.cells.items() if len(cell) > SENTENCE)
        return self.share < ENOUGH and 2 * long > self.column.n_cells


def guess(column: Column, name: str, spec: KindSpec) -> Guess | None:
    """Return what it takes to read a column as a field.

    Parameters
    ----------
    column : Column
    name : str
        A field of the kind.
    spec : KindSpec

    Returns
    -------
    Guess or None
        None if the name of the column says nothing of the field.
    """
    likeness, unit = max(
        (
            (name_likeness(heading, name), unit)
            for heading, unit in column.headings
            if not unit or _means_a_unit(column, unit, name)
        ),
        key=lambda one: one[0],
        default=(0.0, None),
    )
    if not likeness:
        return None
    return _counted(_changes(column, name, unit), likeness, spec)


def by_cells(column: Column, name: str, spec: KindSpec) -> Guess:
    """Return the guess for a column whose name says nothing."""
    return _counted(_changes(column, name, None), BY_CELLS, spec)


def names_unit(column: Column, name: str) -> bool:
    """Say whether the name of a column holds a unit that the field may be in."""
    return any(unit and _unit_symbol(unit, name) for _, unit in column.headings)


def _means_a_unit(column: Column, unit: str, name: str) -> bool:
    if f"[{unit}]" in column.name or f"({unit})" in column.name:
        return True  # brackets are no part of the name, whatever is in them
    return _unit_symbol(unit, name) is not None or _is_gauge(unit, name)


def _counted(found: Guess, likeness: float, spec: KindSpec) -> Guess:
    change = _as_mapping(found).changes(found.field) or (lambda cell: cell)
    n_fit = 0
    for cell, count in found.column.cells.items():
        changed = change(cell)
        if not changed or refusal(spec, found.field, changed) is None:
            n_fit += count
    return dataclasses.replace(found, likeness=likeness, n_fit=n_fit)


def _as_mapping(found: Guess) -> Mapping:
    name = found.field
    return Mapping(
        name="guess",
        text="",
        kind=None,
        sheet=None,
        columns={},
        dates={name: found.formats} if found.formats else {},
        units={name: found.unit} if found.unit else {},
        codes={name: found.words} if found.words else {},
        separators={name: found.separator} if found.separator else {},
        constants={},
    )


def _changes(column: Column, name: str, unit: str | None) -> Guess:
    form = form_of(name)
    if form.form in OWN_NOTATION:
        dates = guess_formats(tuple(column.cells), form.form)
        return Guess(column, name, 0, formats=dates.formats, swapped=dates.swapped)
    if form.form == "codes":
        return _code_guess(column, name, form)
    if name in measures.FIELD_UNITS:
        return _unit_guess(column, name, unit)
    return Guess(column, name, 0, named_unit=unit)


def _unit_guess(column: Column, name: str, unit: str | None) -> Guess:
    own = measures.FIELD_UNITS[name]
    symbol = _unit_symbol(unit or "", name)
    in_cells = [
        found["unit"]
        for cell in column.cells
        if (found := AMOUNT.fullmatch(cell)) and found["unit"]
    ]
    known = [one for text in in_cells if (one := _unit_symbol(text, name))]
    if known and symbol is None:
        symbol = Counter(known).most_common(1)[0][0]
    gauges: dict[str, str] = {}
    if own == "mm2":
        # A bare number is a gauge only where the column name says so.
        all_gauges = _says_gauge(unit or "")
        gauges = dict(_gauge_areas(column.cells, bare=all_gauges))
    needed = symbol if symbol != own or known else None
    return Guess(column, name, 0, unit=needed, words=gauges, named_unit=unit)


def _unit_symbol(unit: str, name: str) -> str | None:
    try:
        return measures.field_unit_symbol(unit, name)
    except measures.UnknownUnitError:
        return None


def _is_gauge(unit: str, name: str) -> bool:
    return measures.FIELD_UNITS.get(name) == "mm2" and _says_gauge(unit)


def _says_gauge(text: str) -> bool:
    return text.strip().casefold() == "awg"


def _gauge_areas(cells: Iterable[str], *, bare: bool) -> Iterable[tuple[str, str]]:
    """Yield the area of each American wire gauge: ASTM B258, from memory.

    The diameter of gauge n is 0.127 mm x 92^((36 - n) / 39).
    """
    for cell in cells:
        found = GAUGE.fullmatch(cell)
        if found and (bare or not cell.isdigit()):
            diameter = 0.127 * 92 ** ((36 - int(found["number"])) / 39)
            yield cell, f"{math.pi / 4 * diameter**2:.2f}"


def _code_guess(column: Column, name: str, form: FieldForm) -> Guess:
    separator = None
    if form.is_list:
        in_use = [s for s in SEPARATORS if any(s in cell for cell in column.cells)]
        # The sign counts as a separator when more words are known with it.
        separator = max(
            [None, *in_use], key=lambda one: _n_known(column, name, form, one)
        )
    words: dict[str, str] = {}
    likes: dict[str, str] = {}
    strange: Counter[str] = Counter()
    for cell, count in column.cells.items():
        for word in _parts(cell, form, separator):
            if word in form.codes:
                continue
            like = code_like(word, name, form)
            if like is None or not can_be_written(word):
                strange[word] += count
            elif like[1]:
                words[word] = like[0]
            else:
                likes[word] = like[0]
    return Guess(
        column, name, 0, words=words, likes=likes, strange=dict(strange.most_common()),
        separator=separator,
    )  # fmt: skip


def _parts(cell: str, form: FieldForm, separator: str | None) -> list[str]:
    if not form.is_list:
        return [cell]
    if cell.strip() in form.codes:
        return [cell.strip()]  # a code may hold the sign: RCD/Tripped
    parts = cell.replace(separator or ";", ";").split(";")
    return [part.strip() for part in parts if part.strip()]


def _n_known(column: Column, name: str, form: FieldForm, separator: str | None) -> int:
    """Return how many cells hold words that are all known."""
    n_known = 0
    for cell, count in column.cells.items():
        parts = _parts(cell, form, separator)
        likes = [word in form.codes or code_like(word, name, form) for word in parts]
        n_known += count if all(likes) else 0
    return n_known
