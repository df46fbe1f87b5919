"""A block of rows in columns: which are surely records, and with which values."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pydantic import ValidationError

from ingest.bulk import rules
from ingest.bulk.columns import Change, Column, Field, Mask
from ingest.bulk.plain_text import Arrow
from ingest.records import KindSpec, Record


@dataclass(frozen=True, slots=True)
class JudgedBlock:
    """What is known of a block of rows without looking at single ones.

    Attributes
    ----------
    staged : pyarrow.Table
        The rows that are records: a column for each of the kind's.
    sure : numpy.ndarray of bool
        For each row of the block whether it is among them; all others need a look.
    masked : dict of str to int
        By field, from how many of the rows personal data was taken.
    """

    staged: pa.Table
    sure: Mask
    masked: dict[str, int]


class BulkRules:
    """The rule book of one kind, for blocks of rows.

    Parameters
    ----------
    spec : KindSpec
        One that `covers` names.
    types : pyarrow.Schema
        Of the kind's columns in the store.
    changes : mapping of str to callable
        By field, from a cell as it stands to the one that is judged.
    masks : mapping of str to callable
        By field, what takes personal data out of a changed cell.
    constants : mapping of str to str
        By field, the cell of rows that have none.
    """

    def __init__(
        self,
        spec: KindSpec,
        types: pa.Schema,
        *,
        changes: Mapping[str, Change] | None = None,
        masks: Mapping[str, Change] | None = None,
        constants: Mapping[str, str] | None = None,
    ) -> None:
        changes, masks, constants = changes or {}, masks or {}, constants or {}
        self._spec = spec
        self._types = types
        self._fields = {
            name: Field(
                spec.model,
                name,
                types.field(name).type,
                change=changes.get(name),
                mask=masks.get(name),
                constant=constants.get(name),
            )
            for name in spec.fields
        }

    def judge(self, cells: Mapping[str, Arrow], n_rows: int) -> JudgedBlock:
        """Judge a block.

        Parameters
        ----------
        cells : mapping of str to pyarrow.Array
            By field, text, null where there is no cell.
        n_rows : int
        """
        columns = {
            name: field.column(cells[name]) if name in cells else field.nothing(n_rows)
            for name, field in self._fields.items()
        }
        sure = np.ones(n_rows, dtype=bool)
        for column in columns.values():
            sure &= column.good[column.at]
        for rule in rules.IN_COLUMNS.get(self._spec.name, ()):
            sure &= rule(columns)
        derived = self._by_model(columns, sure)
        rows = pa.array(sure)
        staged = {
            name: (
                derived[name] if name in derived else columns[name].of_rows()
            ).filter(rows)
            for name in self._spec.columns
        }
        masked = {
            name: n
            for name, column in columns.items()
            if (n := int((column.masked[column.at] & sure).sum()))
        }
        return JudgedBlock(pa.table(staged), sure, masked)

    def _by_model(self, columns: dict[str, Column], sure: Mask) -> dict[str, Arrow]:
        # Each combination of certain cells is shown to the model once, in the first
        # row that has it. Rows of one that it refuses are no longer sure.
        names = rules.BY_MODEL.get(self._spec.name)
        if names is None:
            return {}
        numbers = rules.combinations(columns, names)
        places = np.flatnonzero(sure)
        _, first, which = np.unique(
            numbers[places], return_index=True, return_inverse=True
        )
        records = [self._record(columns, places[n]) for n in first]
        good = np.array([record is not None for record in records], dtype=bool)
        sure[places] = good[which] if len(places) else False
        return self._derived(records, places, which, len(sure))

    def _record(self, columns: dict[str, Column], row: int) -> Record | None:
        cells = {
            name: text
            for name, column in columns.items()
            if (text := column.text(row)) is not None
        }
        try:
            return self._spec.model.model_validate(cells)
        except ValidationError:
            return None

    def _derived(
        self,
        records: Sequence[Record | None],
        places: NDArray[np.int64],
        which: NDArray[np.int64],
        n_rows: int,
    ) -> dict[str, Arrow]:
        # Columns that are no fields are worked out from the fields shown to the model.
        names = [name for name in self._spec.columns if name not in self._fields]
        if not names:
            return {}
        at = np.full(n_rows, len(records))
        at[places] = which
        kept = [self._spec.values(record) if record else None for record in records]
        place = {name: self._spec.columns.index(name) for name in names}
        return {
            name: pa.array(
                [row and row[place[name]] for row in [*kept, None]],
                self._types.field(name).type,
            ).take(pa.array(at))
            for name in names
        }


def covers(spec: KindSpec) -> bool:
    """Return whether rows of a kind may pass in blocks.

    They may if every rule of its model that looks at several fields is one that the
    tables of `ingest.bulk.rules` know.
    """
    known = rules.COVERED.get(spec.name)
    if known is None:
        return False
    decorators: Any = spec.model.__pydantic_decorators__
    found = {
        name
        for decorator in decorators.field_validators.values()
        for name in decorator.info.fields
    }
    return not decorators.model_validators and found <= known
