"""What every answer carries: the rows, and where they come from."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
import pandas as pd

from analytics.rollup.snapshot import About
from dashboard.filters import Filters

INVENTED = "invented data"

Row = dict[str, object]


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one question, the same for page, route and command.

    Attributes
    ----------
    about : About or None
        The snapshot behind it; None for answers from the store itself.
    filters : Filters
    method : str
        How the numbers were made, in a sentence.
    rows : sequence of dict
        The table, one dict for each row, same keys in each.
    more : mapping
        Further parts of the answer, by name.
    invented : bool
        Whether the data are invented.
    asked : mapping
        What was asked beside the filters, by word; empty for the usual question.
    """

    about: About | None
    filters: Filters
    method: str
    rows: Sequence[Row]
    more: Mapping[str, object] = field(default_factory=dict)
    invented: bool = False
    asked: Mapping[str, object] = field(default_factory=dict)

    def document(self) -> dict[str, object]:
        """Return the answer as plain JSON values; inf and nan become null."""
        head: dict[str, object] = {
            "snapshot": self.about.snapshot if self.about else None,
            "as_of": self.about.as_of if self.about else None,
            "filters": self.filters.stated(),
            "asked": self.asked,
            "method": self.method,
            "data": INVENTED if self.invented else "records",
        }
        return {
            key: plain(value)
            for key, value in (head | dict(self.more) | {"rows": self.rows}).items()
        }


def plain(value: object) -> object:
    """Return a value as JSON knows it: numbers, texts, lists, objects, null."""
    if isinstance(value, Mapping):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, np.ndarray | list | tuple):
        return [plain(part) for part in value]
    return _plain_single(value.item() if isinstance(value, np.generic) else value)


def _plain_single(value: object) -> object:
    if value is None or value is pd.NaT or value is pd.NA:
        return None
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dt.datetime):  # pandas gives days as midnights
        is_day = value.time() == dt.time()
        return value.date().isoformat() if is_day else value.isoformat()
    if isinstance(value, dt.date):
        return value.isoformat()
    return str(value) if isinstance(value, Decimal) else value


def rows_of(frame: pd.DataFrame) -> list[Row]:
    """Return a data frame as rows of plain values."""
    names = [str(column) for column in frame.columns]
    return [
        dict(zip(names, (plain(value) for value in row), strict=True))
        for row in frame.itertuples(index=False, name=None)
    ]
