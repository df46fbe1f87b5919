"""How the rows of a correction file are read: each as the row that it corrects was.

One file may hold rows of several files, which were read with different mappings, with
and without decimal commas. A day or a number must not be taken for another there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ingest.mapping.apply import Mapping
from ingest.mapping.mapping_file import parse_mapping
from ingest.quarantine import ways_of_reading
from ingest.readers.source import Problem, Source, SourceRow
from ingest.records import KindSpec
from ingest.set_aside import CONTROL_COLUMNS

CORRECTS = CONTROL_COLUMNS[1]


@dataclass(frozen=True, slots=True)
class Way:
    """How a row is read.

    Attributes
    ----------
    mapping : Mapping or None
    decimal_comma : bool
    """

    mapping: Mapping | None = None
    decimal_comma: bool = False

    def field_of(self, columns: Sequence[str]) -> dict[str, str]:
        """Return the name of each column in this way, our own field if it has one."""
        if self.mapping is None:
            return {column: column for column in columns}
        return {c: f for c in columns if (f := self.mapping.field_of(c))}

    def clash(self, row: SourceRow, spec: KindSpec) -> Problem | None:
        """Return the problem of a row that has two cells for one field, if it has."""
        column_of: dict[str, str] = {}
        for column, name in self.field_of(list(row.cells)).items():
            other = column_of.setdefault(name, column)
            if other != column and name in spec.fields:
                words = f"two cells for it, in `{other}` and `{column}`; empty one"
                return Problem(name, "malformed_row", words)
        return None


@dataclass(frozen=True, slots=True)
class Ways:
    """How the rows of one correction file were read when they were set aside.

    Attributes
    ----------
    of_row : dict of str to Way
        By the row set aside.
    read_as : dict of str to int
        By the row set aside, the batch that says how it is read.
    kinds : frozenset of str
    """

    of_row: dict[str, Way] = field(default_factory=dict)
    read_as: dict[str, int] = field(default_factory=dict)
    kinds: frozenset[str] = frozenset()

    def different(self) -> list[Way]:
        """Return each way once."""
        return list(dict.fromkeys(self.of_row.values()))

    def with_mapping(self, mapping: Mapping) -> "Ways":
        """Return the ways of rows that are read with a mapping given for all."""
        ways = {n: Way(mapping, w.decimal_comma) for n, w in self.of_row.items()}
        return Ways(ways, {}, self.kinds)


def ways_before(sources: Sequence[Source], store_file: Path) -> Ways:
    """Return how the rows that a file corrects were read; none of any other file.

    Raises
    ------
    StoreBusyError, StoreNewerError
        The store cannot be read.
    """
    named = [source for source in sources if CORRECTS in source.columns]
    if not named or not store_file.exists():
        return Ways()
    cells = (row.cells.get(CORRECTS) for source in named for row in source.rows())
    found = ways_of_reading(store_file, {str(cell) for cell in cells if cell})
    mappings = {
        text: parse_mapping(text, name="the mapping of that time")
        for text in {row["mapping"] for row in found}
        if text
    }
    return Ways(
        of_row={
            row["rejected_row"]: Way(mappings.get(row["mapping"]), row["decimal_comma"])
            for row in found
        },
        read_as={row["rejected_row"]: row["read_as"] for row in found},
        kinds=frozenset(row["kind"] for row in found),
    )
