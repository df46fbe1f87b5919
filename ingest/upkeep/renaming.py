"""One name for another in every table of a store, digests and row names included."""

import json
import re
import secrets
from collections.abc import Callable
from functools import partial
from typing import Any

import duckdb

from ingest import statements
from ingest.records import KINDS
from ingest.set_aside import ID_DIGITS, as_json, rejected_row_id

# ruff: noqa: S608 - names come from the list below, values are parameters
# Fields that hold the name and nothing else, by table.
FIELDS: dict[str, dict[str, tuple[str, ...]]] = {
    "serial": {
        "unit_versions": ("serial",),
        "repair_versions": ("serial", "replaced_by_serial"),
        "usage_versions": ("serial",),
        "status_versions": ("serial",),
    },
    "technician": {"repair_versions": ("technician",)},
}
# Text in which the name may stand among other words.
TEXTS: dict[str, tuple[str, ...]] = {
    "repair_versions": ("symptom_text",),
    "status_versions": ("message", "words"),
    "unknown_cells": ("cell",),
    "rejected_rows": ("path", "cells", "problems"),
    "batches": ("path", "mapping"),
}
AS_JSON = frozenset({"cells", "problems"})

OLD_DIGESTS = """
CREATE OR REPLACE TEMP TABLE old_digests AS
SELECT rowid AS place, content_hash FROM {table} WHERE list_contains($places, rowid)
"""

NEW_DIGESTS = """
UPDATE {table} SET content_hash = {digest} WHERE list_contains($places, rowid)
"""

REPEATED = """
UPDATE repeated_rows SET content_hash = version.content_hash
FROM {table} AS version
INNER JOIN old_digests ON version.rowid = old_digests.place
WHERE
    repeated_rows.kind = $kind
    AND repeated_rows.content_hash = old_digests.content_hash
"""

IS_TAKEN = """
SELECT count(*) > 0 FROM rejected_rows WHERE rejected_row = $name
"""

NEW_NAME = """
UPDATE {table} SET rejected_row = $new WHERE rejected_row = $old
"""


def rename(
    connection: duckdb.DuckDBPyConnection, kind: str, name: str, pseudonym: str
) -> int:
    """Replace a name everywhere; return how many rows changed.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Open for writing, in a transaction.
    kind : {"serial", "technician"}
    name : str
        Replaced in any case of letters; in text only where it stands as a word.
    pseudonym : str
    """
    word = re.compile(
        rf"(?<![A-Za-z0-9])(?<![A-Za-z0-9][._/-]){re.escape(name)}"
        r"(?![._/-]?[A-Za-z0-9])",
        re.IGNORECASE,
    )
    # In the name of a file a dot or a stroke ends a word.
    in_path = re.compile(
        rf"(?<![A-Za-z0-9]){re.escape(name)}(?![A-Za-z0-9])", re.IGNORECASE
    )
    changed: dict[str, set[int]] = {}
    for table, columns in FIELDS[kind].items():
        for column in columns:
            places = _rename_field(connection, table, column, (name, pseudonym))
            changed.setdefault(table, set()).update(places)
    for table, columns in TEXTS.items():
        for column in columns:
            pattern = in_path if column == "path" else word
            renamed = partial(pattern.sub, pseudonym)
            places = _rename_text(connection, table, column, name, renamed)
            changed.setdefault(table, set()).update(places)
    for spec in KINDS.values():
        if spec.table in changed:
            _new_digests(connection, spec.name, sorted(changed[spec.table]))
    _new_row_names(connection, changed["rejected_rows"])
    return sum(map(len, changed.values()))


def _rename_field(
    connection: duckdb.DuckDBPyConnection,
    table: str,
    column: str,
    names: tuple[str, str],
) -> list[int]:
    rows = connection.execute(
        f"SELECT rowid FROM {table} WHERE lower({column}) = lower(?)", [names[0]]
    ).fetchall()
    places = [row[0] for row in rows]
    if places:
        connection.execute(
            f"UPDATE {table} SET {column} = ? WHERE list_contains(?, rowid)",
            [names[1], places],
        )
    return places


def _rename_text(
    connection: duckdb.DuckDBPyConnection,
    table: str,
    column: str,
    name: str,
    renamed: Callable[[str], str],
) -> list[int]:
    # JSON may spell a character in other ways: all of it is looked at.
    where = (
        "" if column in AS_JSON else f"WHERE contains(lower({column}), lower($name))"
    )
    rows = connection.execute(
        f"SELECT rowid, {column} FROM {table} {where}", {"name": name} if where else {}
    ).fetchall()
    places = []
    for place, text in rows:
        new = _in_json(text, renamed) if column in AS_JSON else renamed(text)
        if new != text:
            places.append(place)
            connection.execute(
                f"UPDATE {table} SET {column} = ? WHERE rowid = ?", [new, place]
            )
    return places


def _in_json(text: str, renamed: Callable[[str], str]) -> str:
    content = json.loads(text)
    new = _walked(content, renamed)
    return text if new == content else as_json(new)


def _walked(content: Any, renamed: Callable[[str], str]) -> Any:
    if isinstance(content, dict):
        return {renamed(key): _walked(part, renamed) for key, part in content.items()}
    if isinstance(content, list):
        return [_walked(part, renamed) for part in content]
    return renamed(content) if isinstance(content, str) else content


def _new_digests(
    connection: duckdb.DuckDBPyConnection, kind: str, places: list[int]
) -> None:
    spec = KINDS[kind]
    here = {"places": places}
    connection.execute(OLD_DIGESTS.format(table=spec.table), here)
    digest = statements.content_hash(spec)
    connection.execute(NEW_DIGESTS.format(table=spec.table, digest=digest), here)
    connection.execute(REPEATED.format(table=spec.table), {"kind": kind})


def _new_row_names(connection: duckdb.DuckDBPyConnection, places: set[int]) -> None:
    rows = connection.execute(
        "SELECT rejected_row, kind, cells FROM rejected_rows "
        "WHERE list_contains(?, rowid)",
        [sorted(places)],
    ).fetchall()
    for old, kind, cells in rows:
        new = rejected_row_id(kind, json.loads(cells))
        if new == old:  # the name stood in the path alone
            continue
        if connection.execute(IS_TAKEN, {"name": new}).fetchone() == (True,):
            # Two rows that told the name apart by its letters: both are kept.
            new = secrets.token_hex(ID_DIGITS // 2)
        for table in ("rejected_rows", "repeated_rejected_rows"):
            connection.execute(NEW_NAME.format(table=table), {"new": new, "old": old})
