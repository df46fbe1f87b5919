"""From a row to a record, or to all the reasons why it is none."""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from ingest.cells import Allowed
from ingest.field_marks import mark
from ingest.readers.source import Cell, Problem
from ingest.records import KindSpec, Record

# What the checks of pydantic say, as our stable code and words. Our own rules carry
# code and words themselves.
CODES = {
    "missing": ("missing", "is required and empty"),
    "string_type": ("not_text", "must be text"),
    "string_too_long": ("too_long", "must have at most {max_length} characters"),
    "string_too_short": ("bad_pattern", "must be {allowed}"),
    "string_pattern_mismatch": ("bad_pattern", "must be {allowed}"),
    "literal_error": ("unknown_code", "must be {expected}"),
    "greater_than_equal": ("out_of_range", "must be at least {ge}"),
    "less_than_equal": ("out_of_range", "must be at most {le}"),
}
SHOWN = 60  # characters of a value in a message


def validated(spec: KindSpec, cells: Mapping[str, Cell]) -> Record | list[Problem]:
    """Return the record that a row of cells is, or every problem it has.

    Parameters
    ----------
    spec : KindSpec
    cells : mapping of str to Cell
        By field name; a field that is not there is not recorded. Other names are
        passed over.

    Returns
    -------
    Record or list of Problem
        The list is never empty.
    """
    try:
        return spec.model.model_validate(cells)
    except ValidationError as error:
        details = error.errors(include_url=False)
        return [_problem(spec, found) for found in details]


def _problem(spec: KindSpec, error: ErrorDetails) -> Problem:
    field = str(error["loc"][0])
    context: dict[str, Any] = dict(error.get("ctx", {}))
    allowed = mark(spec.model.model_fields[field], Allowed)
    context["allowed"] = allowed and allowed.words
    if "words" not in context and error["type"] in CODES:
        code, words = CODES[error["type"]]
        words = words.format(**context)
    else:
        code, words = error["type"], error["msg"]
    if code == "missing":
        return Problem(field, code, words)
    return Problem(field, code, f"{words}, got {_shown(error['input'])}")


def _shown(cell: object) -> str:
    if isinstance(cell, bool):
        return str(cell).upper()  # as a spreadsheet shows it
    text = str(cell) if cell is not None else ""
    return repr(text if len(text) <= SHOWN else text[: SHOWN - 1] + "…")
