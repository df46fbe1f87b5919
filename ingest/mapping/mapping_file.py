"""The mapping file: TOML that a user keeps beside the files it is for.

```toml
kind = "repairs"
sheet = "Returns"

[columns]                  # their column = our field; "" leaves a column out
"Return no." = "case_id"

[dates]                    # field = format, or a list of formats (strptime)
received_on = "%d.%m.%Y"

[units]                    # field = the unit that its numbers are in
cable_length_m = "ft"

[codes.symptoms]           # their word = our code; any field may have words
"kein Strom" = "no_power_indication"

[separators]               # field = what stands between its parts, beside `;`
symptoms = ","

[constants]                # field = value of every row that has none of its own
currency = "EUR"
```
"""

import tomllib
from pathlib import Path

from pydantic import ValidationError

from ingest import measures
from ingest.cells import nearest
from ingest.errors import FileError, UsageError
from ingest.mapping.apply import Mapping
from ingest.mapping.rules import MappingContent, first_problem

# What the checks of pydantic say, in our words.
WORDS = {
    "string_type": "must be text",
    "dict_type": "must be a table of its own",
    "list_type": "must be text or a list of texts",
    "too_short": "must not be empty",
}


def read_mapping(path: Path) -> Mapping:
    """Read a mapping file.

    Raises
    ------
    FileError
        It cannot be read, or is not TOML.
    UsageError
        It says something that no mapping can say.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise FileError(
            f"The mapping {path} cannot be read: {error.strerror or error}.",
            hint="Look at its name and at who may read it.",
        ) from None
    except UnicodeDecodeError as error:
        raise FileError(
            f"The mapping {path} is not UTF-8: byte {error.start + 1} is no letter.",
            hint="Save it as UTF-8 text.",
        ) from None
    return parse_mapping(text, name=str(path))


def parse_mapping(text: str, *, name: str) -> Mapping:
    """Return the mapping that a TOML text says.

    Parameters
    ----------
    text : str
    name : str
        Where the text is from, for messages.

    Raises
    ------
    FileError
        The text is not TOML.
    UsageError
        A key, field, unit, format or code that is not known; two columns for one
        field.
    """
    try:
        raw = tomllib.loads(text, parse_float=str)
    except (ValueError, RecursionError) as error:
        raise FileError(
            f"The mapping {name} is not TOML: {error}.",
            hint="Names and words that hold a blank, a dot or an accent need"
            ' quotes: `"Return no." = "case_id"`.',
        ) from None
    try:
        content = MappingContent.model_validate(raw)
    except ValidationError as error:
        raise _shape_error(error, name) from None
    if problem := first_problem(content):
        raise UsageError(f"{name}, {problem.what}.", hint=problem.hint)
    return Mapping(
        name=name,
        text=text,
        kind=content.kind,
        sheet=content.sheet,
        columns=content.columns,
        dates={field: tuple(formats) for field, formats in content.dates.items()},
        units={
            field: measures.field_unit_symbol(unit, field)
            for field, unit in content.units.items()
        },
        codes=content.codes,
        separators=content.separators,
        constants=content.constants,
    )


def _shape_error(error: ValidationError, name: str) -> UsageError:
    found = error.errors(include_url=False)[0]
    where = [str(part) for part in found["loc"]]
    if found["type"] == "extra_forbidden":
        like = nearest(where[0], frozenset(MappingContent.model_fields))
        return UsageError(
            f"{name} has the key `{where[0]}`, which is not known.",
            hint=(f"The nearest known key is `{like}`. " if like else "")
            + f"Known keys: {', '.join(MappingContent.model_fields)}.",
        )
    words = WORDS.get(found["type"], found["msg"])
    return UsageError(
        f"{name}, `{'.'.join(where)}`: {words}, got {_shown(found['input'])}.",
        hint="Text needs quotes, and so does a name that holds a dot or a blank:"
        ' `"Return no." = "case_id"`.',
    )


def _shown(value: object) -> str:
    try:
        return f"{value!r:.60}"
    except ValueError:  # hexadecimal digits without end are read, but not written
        return "a number of too many digits"
