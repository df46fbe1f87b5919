"""The rows of one file, one by one or in blocks, through the rule book into a batch.

Both ways lead to the same outcome for every row. A block is judged column by column;
only its rows that are not surely records are looked at one by one.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import pyarrow.compute as pc

from ingest.batches import FREE_TEXT, Batch
from ingest.bulk.ahead import ahead
from ingest.bulk.block import BulkRules, JudgedBlock, covers
from ingest.bulk.columns import Change, Mask
from ingest.corrections import CORRECTS, Way
from ingest.opening import Opened
from ingest.personal_data import masked_text
from ingest.readers.source import Cell, PlainBlock, SourceRow
from ingest.records import KindSpec
from ingest.set_aside import MASKED
from ingest.validation import validated

Tell = Callable[[int], None]
# Single rows, or a block with those of its rows that are no plain text.
Part = list[SourceRow] | tuple[PlainBlock, JudgedBlock, list[SourceRow]]

# Single rows handed on together, and rows made into a block.
ROWS_PER_PART = 1000
ROWS_PER_BLOCK = 10_000
# Rows judged in one set: large enough that comparing costs little, small enough to
# keep them all in memory.
ROWS_PER_CHUNK = 50_000
# A number with a decimal comma, over or under range too: 7,5 or >2000,5.
COMMA = re.compile(r"([<>]?\s*[-+]?[0-9]*),([0-9]+(?:[eE][-+]?[0-9]{1,2})?)")


@dataclass(frozen=True, slots=True)
class Care:
    """What is done with what people wrote beside the fields.

    Attributes
    ----------
    mask : bool
        Personal data is masked before anything is stored.
    keep_unknown : bool
        Cells of columns that no field is known for are kept.
    """

    mask: bool = True
    keep_unknown: bool = False


class FileRows:
    """The rows of one opened file on their way into a batch.

    Parameters
    ----------
    file : Opened
    batch : Batch
    care : Care
    """

    def __init__(self, file: Opened, batch: Batch, care: Care) -> None:
        self._file = file
        self._batch = batch
        self._care = care
        self._own = Way(file.mapping, file.source.decimal_comma)
        self._numbers = numeric_fields(file.spec)
        self.n_read = 0

    def take_in(self, tell: Tell, *, in_blocks: bool = True) -> None:
        """Judge every row and stage or set it aside.

        Parameters
        ----------
        tell : callable
            Told how many rows are read so far.
        in_blocks : bool, default True
            Take blocks where the file has them; False: every row by itself.
        """
        waiting = 0
        for part in self._parts(in_blocks=in_blocks and self._may_be_blocks()):
            n_before = self.n_read
            if isinstance(part, list):
                for row in part:
                    self._take_row(row)
            else:
                self._take_block(*part)
            waiting += self.n_read - n_before
            tell(self.n_read)
            if waiting >= ROWS_PER_CHUNK:
                self._batch.judge()
                waiting = 0
        self._batch.judge()

    def _may_be_blocks(self) -> bool:
        file = self._file
        return (
            covers(file.spec)
            # A row that comes back from quarantine is compared with what it was.
            and "rejected_row" not in file.source.columns
            and not (self._care.keep_unknown and file.unknown)
        )

    def _parts(self, *, in_blocks: bool) -> Iterator[Part]:
        source = self._file.source
        if in_blocks and source.blocks:
            # Reading, judging and storing each in a thread of its own.
            yield from ahead(self._judged(ahead(source.blocks())))
        elif in_blocks:
            yield from ahead(self._judged_rows(source.rows()))
        else:
            yield from _in_lists(source.rows(), ROWS_PER_PART)

    def _judged(self, parts: Iterable[PlainBlock | SourceRow]) -> Iterator[Part]:
        rules = self._rules()
        rows: list[SourceRow] = []
        for part in parts:
            if isinstance(part, PlainBlock):
                if rows:
                    yield rows
                    rows = []
                yield part, self._judged_block(part, rules), []
            else:
                rows.append(part)
                if len(rows) == ROWS_PER_PART:
                    yield rows
                    rows = []
        if rows:
            yield rows

    def _judged_rows(self, rows: Iterable[SourceRow]) -> Iterator[Part]:
        # Of a format that is read row by row: a block is made of them here.
        rules = self._rules()
        for some in _in_lists(rows, ROWS_PER_BLOCK):
            plain = [row for row in some if _is_plain(row)]
            others = [row for row in some if not _is_plain(row)]
            block = PlainBlock.of(plain, self._file.source.columns)
            yield block, self._judged_block(block, rules), others

    def _judged_block(self, block: PlainBlock, rules: BulkRules) -> JudgedBlock:
        cells = {
            field: block.table.column(column).combine_chunks()
            for column, field in self._file.field_of.items()
        }
        return rules.judge(cells, block.table.num_rows)

    def _rules(self) -> BulkRules:
        file = self._file
        changes = {
            field: change
            for field in file.field_of.values()
            if (change := self._change(field))
        }
        return BulkRules(
            file.spec,
            self._batch.types,
            changes=changes,
            masks=dict.fromkeys(FREE_TEXT & set(file.spec.fields), masked_text)
            if self._care.mask
            else {},
            constants=file.mapping.constants if file.mapping else {},
        )

    def _change(self, field: str) -> Change | None:
        mapped = self._file.mapping.changes(field) if self._file.mapping else None
        if not self._own.decimal_comma or field not in self._numbers:
            return mapped
        if mapped is None:
            return with_point
        return lambda cell: mapped(with_point(cell))

    def _take_block(
        self, block: PlainBlock, judged: JudgedBlock, others: list[SourceRow]
    ) -> None:
        problems = self._batch.outcome.problems
        self.n_read += judged.staged.num_rows
        self._batch.take_block(block, judged)
        for field, n_rows in judged.masked.items():
            problems[field, MASKED] += n_rows
        for name in self._file.unknown:
            problems[name, "unknown_column"] += _n_filled(block, name, judged.sure)
        for row in (*block.rows(block.row_nos[~judged.sure]), *others):
            self._take_row(row)

    def _take_row(self, row: SourceRow) -> None:
        if not row.cells:
            return
        self.n_read += 1
        problems = self._batch.outcome.problems
        for name in self._file.unknown:
            if name in row.cells:
                problems[name, "unknown_column"] += 1
        way = self._way(row)
        found = [row.problem] if row.problem else self._batch.uncorrected(row)
        if way and not found and (clash := way.clash(row, self._file.spec)):
            found = [clash]
        if found:
            self._batch.reject(row, found)
            return
        cells, masked = self._fields(row, way or self._own)
        judged = validated(self._file.spec, cells)
        if isinstance(judged, list):
            self._batch.reject(row, judged)
            return
        problems.update((field, MASKED) for field in masked)
        self._batch.take(row, judged, unknown=self._unknown_cells(row))

    def _way(self, row: SourceRow) -> Way | None:
        # Of a row that is not read as its file is.
        ways = self._file.ways.of_row
        return ways.get(str(row.cells.get(CORRECTS))) if ways else None

    def _fields(self, row: SourceRow, way: Way) -> tuple[dict[str, Cell], list[str]]:
        file = self._file
        comma = way.decimal_comma or self._own.decimal_comma
        if not comma and way.mapping is None:
            fields = {c: row.cells[c] for c in file.spec.fields if c in row.cells}
        else:
            field_of = way.field_of(list(row.cells)) if comma else {}
            cells = {
                column: with_point(cell)
                if isinstance(cell, str) and field_of.get(column) in self._numbers
                else cell
                for column, cell in row.cells.items()
            }
            fields = way.mapping.apply(cells, file.spec) if way.mapping else cells
        masked = []
        for field in FREE_TEXT & fields.keys() if self._care.mask else ():
            text = str(fields[field])
            if (found := masked_text(text)) != text:
                fields[field] = found
                masked.append(field)
        return fields, masked

    def _unknown_cells(self, row: SourceRow) -> dict[str, Cell]:
        if not self._care.keep_unknown:
            return {}
        cells: dict[str, Cell] = {}
        for name in self._file.unknown.keys() & row.cells.keys():
            text = str(row.cells[name])
            cells[name] = masked_text(text, column=name) if self._care.mask else text
            if cells[name] != text:
                self._batch.outcome.problems[name, MASKED] += 1
        return cells


def with_point(cell: str) -> str:
    """Return a number that has a decimal comma with a point, any other cell as it is.

    One with a point as well is left: which of the two groups thousands is a guess.
    """
    found = COMMA.fullmatch(cell.strip())
    return f"{found[1]}.{found[2]}" if found else cell


def numeric_fields(spec: KindSpec) -> frozenset[str]:
    """Return the fields of a kind that hold numbers."""
    fields = spec.model.model_fields.items()
    numbers = {n for n, f in fields if _base(f.annotation) in (float, int, Decimal)}
    # A reading's value may be a bound, and is text for that reason alone.
    return frozenset(numbers | ({"value"} & set(spec.fields)))


def _base(annotation: Any) -> Any:
    if get_origin(annotation) is Annotated:
        return _base(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return _base(next(a for a in get_args(annotation) if a is not NoneType))
    return annotation


def _in_lists(rows: Iterable[SourceRow], length: int) -> Iterator[list[SourceRow]]:
    some: list[SourceRow] = []
    for row in rows:
        some.append(row)
        if len(some) == length:
            yield some
            some = []
    if some:
        yield some


def _is_plain(row: SourceRow) -> bool:
    return not row.problem and all(isinstance(c, str) for c in row.cells.values())


def _n_filled(block: PlainBlock, name: str, rows: Mask) -> int:
    cells: Any = block.table.column(name)
    filled = pc.and_not(pc.is_valid(cells), pc.utf8_is_space(cells))
    is_filled: Mask = pc.fill_null(filled, False).to_numpy()  # noqa: FBT003 - Arrow's own form
    return int((is_filled & rows).sum())
