"""The first rows of a file, column by column, to guess a mapping from."""

import itertools
import re
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ingest import readers
from ingest.errors import FileError
from ingest.readers.packed import unpacked
from ingest.readers.source import NoValue, Source
from ingest.set_aside import CONTROL_COLUMNS

MOST_ROWS = 2000
# A guess looks at so many distinct cells of a column; more would tell nothing new.
MOST_DISTINCT = 200
# Units that stand behind a name without brackets: `length_ft`, `cable length ft`.
BARE_UNIT = re.compile(
    r"(?P<name>.+?)[\s_]+(?P<unit>mm²?|mm2|cm|ft|in|feet|inch|inches|awg|min|mins"
    r"|minutes|hours|hrs|h|s|sec|wh|kwh|mwh|kj|mj|ma|amps|a|m|months|years|[°]?[cf])",
    re.IGNORECASE,
)
IN_BRACKETS = re.compile(r"(?P<name>.*?)\s*[\[(](?P<unit>[^\])]{1,12})[\])]\s*")
DECIMAL_COMMA = re.compile(r"-?[0-9]+,[0-9]+")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a sample.

    Attributes
    ----------
    name : str
    headings : tuple of (str, str or None)
        The name as a whole without a unit, and where it may hold one, what is left
        of it with that unit.
    cells : dict of str to int
        Distinct cells, trimmed, with how often they occur; the first ones met.
    is_unique : bool
        No cell of the sample occurs twice.
    """

    name: str
    headings: tuple[tuple[str, str | None], ...]
    cells: dict[str, int]
    is_unique: bool

    @property
    def n_cells(self) -> int:
        """How many cells are filled, of those looked at."""
        return sum(self.cells.values())


@dataclass(frozen=True, slots=True)
class Sample:
    """The first rows of one file, or of one sheet of it."""

    columns: tuple[Column, ...]
    n_rows: int
    sheet: str | None
    comma_columns: tuple[str, ...]
    decimal_comma: bool


def samples_of(path: Path) -> list[Sample]:
    """Return a sample of each sheet of a file that has columns.

    Raises
    ------
    FileError
        The file cannot be read, or is several files in one.
    """
    with tempfile.TemporaryDirectory() as folder:
        files = unpacked(path, Path(folder))
        if len(files) > 1:
            raise FileError(
                f"{path} holds {len(files)} files.",
                hint="Unpack it, and ask for the mapping of one of them.",
            )
        shown, file = files[0]
        sources = readers.read(file, shown=shown)
        return [_sample(source) for source in sources if source.columns]


def _sample(source: Source) -> Sample:
    counts: dict[str, Counter[str]] = {
        name: Counter() for name in source.columns if name not in CONTROL_COLUMNS
    }
    n_rows = 0
    for row in itertools.islice(source.rows(), MOST_ROWS):
        n_rows += 1
        if row.problem:
            continue
        for name, cell in row.cells.items():
            if name in counts and not isinstance(cell, NoValue):
                # A truth value as a spreadsheet shows it.
                text = cell.strip() if isinstance(cell, str) else str(cell).upper()
                counts[name][text] += 1
    with_comma = [name for name, cells in counts.items() if any(map(_has_comma, cells))]
    if source.decimal_comma:
        counts = {name: _with_points(cells) for name, cells in counts.items()}
    return Sample(
        columns=tuple(_column(name, cells) for name, cells in counts.items()),
        n_rows=n_rows,
        sheet=source.sheet,
        comma_columns=tuple(with_comma),
        decimal_comma=source.decimal_comma,
    )


def _column(name: str, cells: Counter[str]) -> Column:
    return Column(
        name=name,
        headings=tuple(_headings(name)),
        cells=dict(itertools.islice(cells.items(), MOST_DISTINCT)),
        is_unique=max(cells.values(), default=0) <= 1,
    )


def _headings(name: str) -> Iterator[tuple[str, str | None]]:
    if found := IN_BRACKETS.fullmatch(name):
        yield found["name"], found["unit"]
    yield name, None
    if found := BARE_UNIT.fullmatch(name):
        yield found["name"], found["unit"]


def _has_comma(cell: str) -> bool:
    return bool(DECIMAL_COMMA.fullmatch(cell))


def _with_points(cells: Counter[str]) -> Counter[str]:
    changed: Counter[str] = Counter()
    for cell, count in cells.items():
        changed[cell.replace(",", ".") if _has_comma(cell) else cell] += count
    return changed
