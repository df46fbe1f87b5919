"""What the annotation of a field says about its cells, as a flat list."""

from collections.abc import Iterator
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import StringConstraints
from pydantic.fields import FieldInfo

_T = TypeVar("_T")


def marks(field: FieldInfo) -> Iterator[Any]:
    """Return limits, checks and words of a field, those of `X | None` too."""
    yield from _flat(field.metadata)
    yield from _below(field.annotation)


def mark(field: FieldInfo, kind: type[_T]) -> _T | None:
    """Return the mark of one class, if the field has it."""
    return next((found for found in marks(field) if isinstance(found, kind)), None)


def _below(annotation: Any) -> Iterator[Any]:
    if get_origin(annotation) is Annotated:
        inner, *metadata = get_args(annotation)
        yield from _flat(metadata)
        yield from _below(inner)
        return
    for inner in get_args(annotation):
        yield from _below(inner)


def _flat(metadata: list[Any]) -> Iterator[Any]:
    for found in metadata:
        if isinstance(found, FieldInfo):
            yield from _flat(found.metadata)
        elif isinstance(found, StringConstraints):
            yield from found
        else:
            yield found
