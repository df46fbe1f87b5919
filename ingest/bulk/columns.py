"""One column of cells through one field of a model: each distinct cell once."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray
from pydantic import BaseModel, TypeAdapter, ValidationError

from ingest.bulk.plain_text import Arrow, plain_text

# From a cell as it stands to the one that the rule book sees, or without the personal
# data in it: the same for every cell of a field.
Change = Callable[[str], str]
Mask = NDArray[np.bool_]
# Fewer distinct cells are quicker looked at than sorted out.
FEW = 200


@dataclass(frozen=True, slots=True)
class Column:
    """One field of a block of rows.

    Attributes
    ----------
    texts : pyarrow.StringArray
        The distinct cells, as changed; null: no cell.
    at : numpy.ndarray of int
        For each row the place of its cell in `texts`.
    values : pyarrow.Array
        For each of `texts` its value, null where it has none or is wrong.
    good : numpy.ndarray of bool
        For each of `texts` whether the field takes it.
    masked : numpy.ndarray of bool
        For each of `texts` whether personal data was taken out of it.
    """

    texts: Arrow
    at: NDArray[np.int32]
    values: Arrow
    good: Mask
    masked: Mask

    def of_rows(self) -> Arrow:
        """Return the value of each row."""
        if len(self.at) == len(self.values) and (np.diff(self.at) == 1).all():
            return self.values
        return self.values.take(pa.array(self.at))

    def texts_of(self, rows: NDArray[np.int64]) -> list[str | None]:
        """Return the cells of some rows, as changed."""
        found: list[str | None] = self.texts.take(pa.array(self.at[rows])).to_pylist()
        return found

    def recorded(self) -> Mask:
        """Return for each row whether it has a cell."""
        found: Mask = self.texts.is_valid().to_numpy(zero_copy_only=False)[self.at]
        return found


class Field:
    """One field of a model, asked about many cells at once.

    Parameters
    ----------
    model : type of pydantic.BaseModel
    name : str
    kind : pyarrow.DataType
        Of the column in the store.
    change : callable, optional
        From a cell as it stands to the one that is judged.
    mask : callable, optional
        Takes personal data out of a changed cell.
    constant : str, optional
        The cell of rows that have none.
    """

    def __init__(
        self,
        model: type[BaseModel],
        name: str,
        kind: pa.DataType,
        *,
        change: Change | None = None,
        mask: Change | None = None,
        constant: str | None = None,
    ) -> None:
        info = model.model_fields[name]
        cells: Any = list[info.rebuild_annotation()]  # type: ignore[misc]  # at run time
        self._cells: TypeAdapter[list[Any]] = TypeAdapter(cells)
        self._default = None if info.is_required() else info.get_default()
        self._required = info.is_required()
        self._kind = kind
        self._change = change
        self._mask = mask
        self._constant = constant
        self._plain = None if change else plain_text(info)
        self._seldom_repeats = False

    def column(self, cells: Arrow) -> Column:
        """Return the column that these cells are; null: no cell."""
        if self._plain and self._seldom_repeats:
            # Each cell by itself: to find the few that repeat would cost more.
            return self._judged(cells, np.arange(len(cells), dtype=np.int32))
        encoded = cells.dictionary_encode(null_encoding="encode")
        self._seldom_repeats = len(encoded.dictionary) * 3 > len(cells) > FEW
        return self._judged(encoded.dictionary, encoded.indices.to_numpy())

    def nothing(self, n_rows: int) -> Column:
        """Return the column of a field that the file does not have."""
        return self._judged(pa.nulls(1, pa.string()), np.zeros(n_rows, np.int32))

    def _judged(self, cells: Arrow, at: NDArray[np.int32]) -> Column:
        look = np.ones(len(cells), dtype=bool)
        if self._plain and len(cells) > FEW:
            look = ~self._plain.passes(cells, masked=self._mask is not None)
        looked: Arrow = cells if look.all() else cells.filter(pa.array(look))
        texts, masked = self._texts(looked.to_pylist())
        values, good = self._values(texts)
        new_texts: Arrow = pa.array(texts, pa.string())
        new_values: Arrow = pa.array(values, self._kind)
        if looked is cells:
            return Column(new_texts, at, new_values, good, masked)
        places = pa.array(look)
        return Column(
            pc.replace_with_mask(cells, places, new_texts),
            at,
            pc.replace_with_mask(cells.cast(self._kind), places, new_values),
            _spread(look, good, others=True),
            _spread(look, masked, others=False),
        )

    def _texts(self, cells: list[str | None]) -> tuple[list[str | None], Mask]:
        texts: list[str | None] = [c if c and not c.isspace() else None for c in cells]
        if self._change is not None:
            texts = [(text and self._change(text)) or None for text in texts]
        if self._constant is not None:
            texts = [text or self._constant for text in texts]
        masked = np.zeros(len(texts), dtype=bool)
        if self._mask is not None:
            before, texts = texts, [text and self._mask(text) for text in texts]
            masked[:] = [a != b for a, b in zip(before, texts, strict=True)]
        return texts, masked

    def _values(self, texts: Sequence[str | None]) -> tuple[list[Any], Mask]:
        places = [n for n, text in enumerate(texts) if text is not None]
        found: list[Any] = [self._default] * len(texts)
        good = np.full(len(texts), not self._required)
        while places:
            try:
                values = self._cells.validate_python([texts[n] for n in places])
            except ValidationError as error:
                bad = {e["loc"][0] for e in error.errors(include_url=False)}
                wrong = [place for n, place in enumerate(places) if n in bad]
                good[wrong] = False
                for place in wrong:
                    found[place] = None
                places = [place for n, place in enumerate(places) if n not in bad]
            else:
                for place, value in zip(places, values, strict=True):
                    found[place] = value
                good[places] = True
                break
        return found, good


def _spread(places: Mask, new: Mask, *, others: bool) -> Mask:
    spread = np.full(len(places), others)
    spread[places] = new
    return spread
