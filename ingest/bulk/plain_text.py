"""Text that certainly passes a field unchanged, found without looking at each cell.

Sound, not complete: what is found here the field would take as it stands; everything
else is shown to the field, which alone decides.
"""

from dataclasses import dataclass
from types import NoneType
from typing import Annotated, Any, get_args, get_origin

import numpy as np
import pyarrow.compute as pc
from numpy.typing import NDArray
from pydantic import StringConstraints
from pydantic.fields import FieldInfo

from ingest.cells import Allowed

SPACE, TILDE = ord(" "), ord("~")
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
        letters, starts, ends = _letters(cells)
        length = ends - starts
        fine = length >= max(asked.min_length or 1, 1)
        if asked.max_length is not None:
            fine &= length <= asked.max_length
        filled = np.flatnonzero(length)
        for edge in (starts[filled], ends[filled] - 1):  # nothing to strip
            fine[filled] &= letters[edge] != SPACE
        odd = np.flatnonzero(self._odd(letters, masked=masked))
        fine[np.searchsorted(ends, odd, side="right")] = False
        if isinstance(asked.pattern, str):
            matching: Arrow = pc.match_substring_regex(cells, asked.pattern)
            fine &= matching.fill_null(False).to_numpy(zero_copy_only=False)  # noqa: FBT003 - Arrow's own form
        return fine

    def _odd(self, letters: NDArray[np.uint8], *, masked: bool) -> NDArray[np.bool_]:
        # Letters that make a cell one to look at: all but printable ASCII, and those
        # that are changed or without which there is nothing to mask.
        odd = (letters < SPACE) | (letters > TILDE)
        if self.constraints.to_upper:
            odd |= (letters >= ord("a")) & (letters <= ord("z"))
        if masked:
            odd |= (letters >= ord("0")) & (letters <= ord("9"))
            odd |= letters == ord("@")
        return odd


def _letters(
    cells: Arrow,
) -> tuple[NDArray[np.uint8], NDArray[np.int32], NDArray[np.int32]]:
    # The bytes of all cells, and where each begins and ends; of a null nowhere.
    _, offsets, content = cells.buffers()
    places = np.frombuffer(offsets, np.int32)[cells.offset :][: len(cells) + 1]
    all_letters = np.frombuffer(content or b"", np.uint8)
    letters = all_letters[places[0] : places[-1]]
    return letters, places[:-1] - places[0], places[1:] - places[0]


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
