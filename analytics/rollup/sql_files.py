"""The SQL of the rollup, read from files; each takes the parameters it names."""

import re
from collections.abc import Mapping
from functools import cache
from importlib import resources

import duckdb

_PARAMETER = re.compile(r"\$([a-z_]+)")
_COMMENT = re.compile(r"^\s*--.*$", re.MULTILINE)


@cache
def statement(folder: str, name: str) -> str:
    """Return the text of one SQL file of the rollup, without its comments.

    Parameters
    ----------
    folder : {"sql", "steps", "questions", "balance"}
    name : str
        File name without `.sql`.
    """
    file = resources.files("analytics.rollup") / folder / f"{name}.sql"
    return _COMMENT.sub("", file.read_text(encoding="utf-8")).strip()


def all_statements() -> str:
    """Return the text of every file that shapes a snapshot, in a fixed order."""
    files = [
        file
        for folder in ("sql", "steps")
        for file in sorted(
            (resources.files("analytics.rollup") / folder).iterdir(),
            key=lambda file: file.name,
        )
    ]
    return "\n".join(file.read_text(encoding="utf-8") for file in files)


def run(
    connection: duckdb.DuckDBPyConnection,
    text: str,
    parameters: Mapping[str, object],
) -> duckdb.DuckDBPyConnection:
    """Run one statement with those of the parameters that it names."""
    named = set(_PARAMETER.findall(text))
    return connection.execute(
        text, {name: value for name, value in parameters.items() if name in named}
    )
