"""Text that certainly passes a field unchanged, found without looking at each cell.

Sound, not complete: what is found here the field would take as it stands; everything
else is shown to the field, which alone decides.
"""

from dataclasses import dataclass
from types import NoneType
from typing import Annotated, Any, get_args, get_origin

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray
from pydantic import StringConstraints
from pydantic.fields import FieldInfo

from ingest.cells import Allowed
from ingest.personal_data import MIGHT_HOLD

# Printable ASCII, nothing to strip at either end.
PRINTABLE = "^[!-~](?:[ -~]*[!-~])?$"
# An array of Arrow. Its published types cannot be written down at run time and tell
# kinds of array apart only in part.
Arrow = Any


@dataclass(frozen=True, slots=True)
class PlainText:
    """What a field of text asks of a cell."""

    constraints: StringConstraints

    def passes(self, cells: Arrow, *, masked: bool) -> NDArray[np.bool_]:
        """Return for each cell whether it certainly passes unchanged.

        Parameters
        ----------
        cells : pyarrow.StringArray
            A null does not pass.
        masked : bool
            Personal data is masked: what might hold some does not pass.
        """
        asked = self.constraints
        fine: Any = pc.match_substring_regex(cells, PRINTABLE)
        if isinstance(asked.pattern, str):
            fine = pc.and_(fine, pc.match_substring_regex(cells, asked.pattern))
        if asked.to_upper:
            fine = pc.and_not(fine, pc.match_substring_regex(cells, "[a-z]"))
        length: Any = pc.binary_length(cells)
        if asked.max_length is not None:
            fine = pc.and_(fine, pc.less_equal(length, pa.scalar(asked.max_length)))
        if asked.min_length is not None:
            fine = pc.and_(fine, pc.greater_equal(length, pa.scalar(asked.min_length)))
        for pattern in MIGHT_HOLD if masked else ():
            fine = pc.and_not(fine, pc.match_substring_regex(cells, pattern))
        found: NDArray[np.bool_] = fine.fill_null(False).to_numpy(zero_copy_only=False)  # noqa: FBT003 - Arrow's own form
        return found


def plain_text(info: FieldInfo) -> PlainText | None:
    """Return what a field asks if it is text and asks for no more than its shape."""
    base, marks = _unfold(info.annotation, info.metadata)
    constraints = [mark for mark in marks if isinstance(mark, StringConstraints)]
    others = [m for m in marks if not isinstance(m, StringConstraints | Allowed)]
    if base is not str or others or len(constraints) != 1:
        return None
    asked = constraints[0]
    if asked.to_lower or asked.strict or asked.ascii_only:
        return None
    return PlainText(asked)


def _unfold(annotation: Any, marks: list[Any]) -> tuple[Any, list[Any]]:
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _unfold(inner, [*marks, *more])
    parts = [part for part in get_args(annotation) if part is not NoneType]
    if len(parts) == 1 and NoneType in get_args(annotation):
        return _unfold(parts[0], marks)
    return annotation, marks
