"""Which column is which field: the best guesses that go together, and the kind."""

import itertools
from dataclasses import dataclass

from ingest.mapping.date_guess import guess_formats
from ingest.mapping.fields import form_of
from ingest.mapping.guesses import ENOUGH_FOR_A_LIKENESS, Guess, by_cells, guess
from ingest.mapping.sample import Column, Sample
from ingest.mapping.toml_text import can_be_written
from ingest.mapping.words import OWN_NAME, holds_known_word
from ingest.records import KINDS, KindSpec

# Currencies met in the trade, of ISO 4217; three capitals alone may be anything.
CURRENCIES = frozenset(
    {
        "AUD", "CAD", "CHF", "CNY", "CZK", "DKK", "EUR", "GBP", "HUF", "JPY", "NOK",
        "NZD", "PLN", "RON", "SEK", "USD",
    }
)  # fmt: skip
MOST_CANDIDATES = 3
FEWEST_WORDS = 2  # one word is no list
# A kind is in doubt when another one fits so nearly as well.
NEARLY = 0.9


@dataclass(frozen=True, slots=True)
class Match:
    """One kind of file with the guesses for it.

    Attributes
    ----------
    sample : Sample
    spec : KindSpec
    guesses : tuple of Guess
        At most one for a column and for a field, in the order of the columns.
    missing : tuple of str
        Required fields without a column.
    left : tuple of Column
        Columns without a field.
    doubtful : dict of str to Guess
        By column: a name that fits a field whose cells do not.
    """

    sample: Sample
    spec: KindSpec
    guesses: tuple[Guess, ...]
    missing: tuple[str, ...]
    left: tuple[Column, ...]
    doubtful: dict[str, Guess]

    @property
    def score(self) -> float:
        """How well the kind fits: more fields, and above all the required ones."""
        share = 1 - len(self.missing) / len(self.spec.required)
        return sum(one.score for one in self.guesses) * (1 + 2 * share)

    def candidates(self, name: str) -> list[Guess]:
        """Return the columns that a missing field might be, judged by their cells."""
        columns = [one for one in self.left if one.cells]
        if form_of(name).form == "text":
            # Any text would do: a name or number is no date, and a key names one row.
            columns = [
                one for one in columns
                if not guess_formats(tuple(one.cells), "moment").formats
                and (one.is_unique or self.spec.key != (name,))
            ]  # fmt: skip
        found = [by_cells(one, name, self.spec) for one in columns]
        fitting = [one for one in found if one.share >= ENOUGH_FOR_A_LIKENESS]
        return sorted(fitting, key=lambda one: -one.share)[:MOST_CANDIDATES]


def matches(samples: list[Sample], kind: str | None) -> list[Match]:
    """Return a match for each sheet and kind, the best first.

    Parameters
    ----------
    samples : list of Sample
    kind : str or None
        The only kind to look at.
    """
    specs = [KINDS[kind]] if kind else list(KINDS.values())
    found = [_match(sample, spec) for sample in samples for spec in specs]
    return sorted(found, key=lambda one: -one.score)


def _match(sample: Sample, spec: KindSpec) -> Match:
    own = frozenset(spec.fields)
    columns = [one for one in sample.columns if can_be_written(one.name)]
    by_name = [
        found
        for column, name in itertools.product(columns, spec.fields)
        # A column with the name of a field is that field, whatever is in it.
        if (column.name not in own or column.name == name)
        and (found := guess(column, name, spec))
    ]
    chosen = _best([one for one in by_name if one.is_good(spec)])
    left = [one for one in columns if one.name not in chosen]
    chosen |= _by_cells_alone(left, spec, {one.field for one in chosen.values()})
    left = [one for one in columns if one.name not in chosen]
    filled = {one.field for one in chosen.values()}
    doubtful = {
        one.column.name: one
        for one in sorted(by_name, key=lambda one: one.score)
        if one.column.name not in chosen and one.field not in filled
    }
    return Match(
        sample=sample,
        spec=spec,
        guesses=tuple(chosen[one.name] for one in columns if one.name in chosen),
        missing=tuple(name for name in spec.required if name not in filled),
        left=tuple(left),
        doubtful=doubtful,
    )


def _best(good: list[Guess]) -> dict[str, Guess]:
    """Return the surest guesses by column, each column and each field once."""
    chosen: dict[str, Guess] = {}
    filled: set[str] = set()
    for one in sorted(good, key=lambda one: (one.likeness != OWN_NAME, -one.score)):
        if one.column.name not in chosen and one.field not in filled:
            chosen[one.column.name] = one
            filled.add(one.field)
    return chosen


def _knows_words_of(column: Column, name: str) -> bool:
    """Say whether most cells hold a word of the field's list; a look before a count."""
    code_list = form_of(name).code_list
    # Words of the catalogue: yes and no would fit any question.
    if not code_list or len(column.cells) < FEWEST_WORDS:
        return False
    n_known = sum(holds_known_word(cell, code_list) for cell in column.cells)
    return n_known >= ENOUGH_FOR_A_LIKENESS * len(column.cells)


def _by_cells_alone(
    columns: list[Column], spec: KindSpec, filled: set[str]
) -> dict[str, Guess]:
    """Return guesses for columns whose cells are words of one field only."""
    chosen: dict[str, Guess] = {}
    for column in columns:
        fitting = [
            found
            for name in spec.fields
            if _knows_words_of(column, name)
            if (found := by_cells(column, name, spec)).share >= ENOUGH_FOR_A_LIKENESS
        ]
        if "currency" in spec.fields and CURRENCIES.issuperset(column.cells):
            fitting.append(by_cells(column, "currency", spec))
        # Two fields of one code list cannot be told apart by their words.
        if len(fitting) == 1 and column.cells and fitting[0].field not in filled:
            chosen[column.name] = fitting[0]
            filled.add(fitting[0].field)
    return chosen
