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
from ingest.records import KindSpec

# Combinations of cells remembered from block to block.
REMEMBERED = 200_000


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
        # What the model said to a combination of cells before.
        self._known: dict[tuple[str | None, ...], tuple[object, ...] | None] = {}

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
            if not column.good.all():
                sure &= column.good[column.at]
        for rule in rules.IN_COLUMNS.get(self._spec.name, ()):
            sure &= rule(columns)
        derived = self._by_model(columns, sure)
        staged = pa.table(
            {
                name: derived[name] if name in derived else columns[name].of_rows()
                for name in self._spec.columns
            }
        )
        masked = {
            name: n
            for name, column in columns.items()
            if column.masked.any()
            and (n := int((column.masked[column.at] & sure).sum()))
        }
        if not sure.all():
            staged = staged.filter(pa.array(sure))
        return JudgedBlock(staged, sure, masked)

    def _by_model(self, columns: dict[str, Column], sure: Mask) -> dict[str, Arrow]:
        # Each combination of certain cells is shown to the model once, in the first
        # row that has it. Rows of one that it refuses are no longer sure.
        names = rules.BY_MODEL.get(self._spec.name)
        if names is None:
            return {}
        places = np.flatnonzero(sure)
        _, first, which = np.unique(
            rules.combinations(columns, names)[places],
            return_index=True,
            return_inverse=True,
        )
        found = self._shown(columns, names, places[first])
        good = np.array([row is not None for row in found], dtype=bool)
        sure[places] = good[which]
        # Columns that are no fields are worked out from the fields shown to the model.
        derived = [n for n in self._spec.columns if n not in self._fields]
        at = np.full(len(sure), len(found))
        at[places] = which
        return {
            name: pa.array(
                [*(row and row[n] for row in found), None],
                self._types.field(name).type,
            ).take(pa.array(at))
            for n, name in enumerate(derived)
        }

    def _shown(
        self, columns: dict[str, Column], names: Sequence[str], rows: NDArray[np.int64]
    ) -> list[tuple[object, ...] | None]:
        # For each row the values of columns that are no fields; None: refused.
        if len(self._known) > REMEMBERED:
            self._known.clear()
        keys = list(zip(*(columns[name].texts_of(rows) for name in names), strict=True))
        new = [n for n, key in enumerate(keys) if key not in self._known]
        cells = (
            {name: c.texts_of(rows[new]) for name, c in columns.items()} if new else {}
        )
        for place, n in enumerate(new):
            row = {
                name: text
                for name, texts in cells.items()
                if (text := texts[place]) is not None
            }
            self._known[keys[n]] = self._derived(row)
        return [self._known[key] for key in keys]

    def _derived(self, cells: dict[str, str]) -> tuple[object, ...] | None:
        try:
            record = self._spec.model.model_validate(cells)
        except ValidationError:
            return None
        values = zip(self._spec.columns, self._spec.values(record), strict=True)
        return tuple(value for name, value in values if name not in self._fields)


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
