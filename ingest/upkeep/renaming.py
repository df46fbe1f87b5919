"""One name for another in every table of a store, digests and row names included."""

import json
import re
import secrets
from collections.abc import Callable
from functools import partial
from typing import Any

import duckdb

from ingest.records import KINDS, KindSpec
from ingest.set_aside import ID_DIGITS, as_json, rejected_row_id
from ingest.statements import content_hash

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
    "repeated_rejected_rows": ("problems",),
    "batches": ("path", "mapping"),
    "alarm_notes": ("note_text",),
}
AS_JSON = frozenset({"cells", "problems"})

OLD_DIGESTS = """
CREATE OR REPLACE TEMP TABLE old_digests_of_{kind} AS
SELECT rowid AS place, {digest} AS content_hash FROM {table}
WHERE list_contains($places, rowid)
"""

# The digest of a version follows what it says; that of a row repeated is kept.
NEW_DIGESTS = """
UPDATE repeated_rows SET content_hash = version.content_hash
FROM (SELECT rowid AS place, {digest} AS content_hash FROM {table}) AS version
INNER JOIN old_digests_of_{kind} AS before ON version.place = before.place
WHERE
    repeated_rows.kind = $kind
    AND repeated_rows.content_hash = before.content_hash
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
    changes = [
        (table, column, _in_field(connection, table, column, (name, pseudonym)))
        for table, columns in FIELDS[kind].items()
        for column in columns
    ]
    for table, columns in TEXTS.items():
        for column in columns:
            pattern = in_path if column == "path" else word
            renamed = partial(pattern.sub, pseudonym)
            found = _in_text(connection, table, column, name, renamed)
            changes.append((table, column, found))
    places: dict[str, set[int]] = {}
    for table, _, found in changes:
        places.setdefault(table, set()).update(found)
    kinds = [spec for spec in KINDS.values() if places.get(spec.table)]
    for spec in kinds:
        connection.execute(
            _digests(OLD_DIGESTS, spec),
            {"places": sorted(places[spec.table])},
        )
    for table, column, found in changes:
        for place, text in found.items():
            connection.execute(
                f"UPDATE {table} SET {column} = ? WHERE rowid = ?", [text, place]
            )
    for spec in kinds:
        connection.execute(_digests(NEW_DIGESTS, spec), {"kind": spec.name})
    _new_row_names(connection, places["rejected_rows"])
    return sum(map(len, places.values()))


def _digests(statement: str, spec: KindSpec) -> str:
    digest = content_hash(spec)
    return statement.format(kind=spec.name, table=spec.table, digest=digest)


def _in_field(
    connection: duckdb.DuckDBPyConnection,
    table: str,
    column: str,
    names: tuple[str, str],
) -> dict[int, str]:
    rows = connection.execute(
        f"SELECT rowid FROM {table} WHERE lower({column}) = lower(?)", [names[0]]
    ).fetchall()
    return {place: names[1] for (place,) in rows}


def _in_text(
    connection: duckdb.DuckDBPyConnection,
    table: str,
    column: str,
    name: str,
    renamed: Callable[[str], str],
) -> dict[int, str]:
    # JSON may spell a character in other ways: all of it is looked at.
    rows = connection.execute(
        f"SELECT rowid, {column} FROM {table} "
        f"WHERE $everything OR contains(lower({column}), lower($name))",
        {"everything": column in AS_JSON, "name": name},
    ).fetchall()
    found = {
        place: _in_json(text, renamed) if column in AS_JSON else renamed(text)
        for place, text in rows
    }
    return {place: found[place] for place, text in rows if found[place] != text}


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
