"""The SQL by which one file enters the store: made once per kind from its columns.

Every name put into a statement comes from `ingest.records`; every value is a parameter.
"""

from dataclasses import dataclass

from ingest.records import KINDS, KindSpec

# ruff: noqa: S608 - names come from our own models, values are parameters
# The unit or case that a row names: the column here, and where it is kept.
REFERS_TO = {
    "repairs": ("serial", "unknown_serial", "unit_versions"),
    "readings": ("case_id", "unknown_case", "repair_versions"),
    "usage": ("serial", "unknown_serial", "unit_versions"),
    "status": ("serial", "unknown_serial", "unit_versions"),
}


@dataclass(frozen=True, slots=True)
class KindStatements:
    """The statements of one kind, in the order in which a chunk goes through them.

    A chunk is `staged`. Rows whose key was never seen are `fresh` and go straight in;
    the content of the others, `known`, is compared with what is stored and with that
    of the first row of their key in the file, named in `firsts`.
    """

    staged_as: str
    any_stored: str
    begin: str
    digests: str
    later_rows: str
    stored_keys: str
    insert_fresh: str
    hash: str
    judge: str
    insert_judged: str
    remember: str
    count_unknown: str | None
    discard: str


def content_hash(spec: KindSpec) -> str:
    """Return the SQL for the digest of what a row says, over the fields of the kind.

    It is kept nowhere, but worked out where rows are compared. Typed values as text, so
    that 7.5 and 7.50 are one content; its length before each keeps neighbours apart,
    whatever letters they hold.
    """
    texts = ", ".join(
        f"coalesce(length({text}) || ':' || {text}, '-')"
        for text in map(_content, sorted(spec.fields))
    )
    return f"md5(concat({texts}))"


def _of(spec: KindSpec) -> KindStatements:
    return KindStatements(
        staged_as=_staged_as(spec),
        any_stored=f"SELECT count(*) > 0 FROM (FROM {spec.table} LIMIT 1)",
        begin=_begin(spec),
        digests=f"SELECT row_no, hash({_listed(spec.key)}) AS digest FROM staged",
        later_rows=_later_rows(spec),
        stored_keys=_stored_keys(spec),
        insert_fresh=_insert(spec, "fresh"),
        hash=f"SELECT *, {content_hash(spec)} AS content_hash FROM known",
        judge=_judge(spec),
        insert_judged=_insert(spec, "judged") + " WHERE verdict = 'replaced'",
        remember=_remember(spec),
        count_unknown=_count_unknown(spec),
        discard=f"DELETE FROM {spec.table} WHERE batch = $batch",
    )


def _staged_as(spec: KindSpec) -> str:
    # No row: asked for the types of the columns.
    return f"""
    SELECT {_listed(spec.columns)}, row_no, CAST(NULL AS VARCHAR) AS rejected_row
    FROM {spec.table} LIMIT 0
    """


def _begin(spec: KindSpec) -> str:
    return f"""
    CREATE OR REPLACE TEMP TABLE unchanged_firsts AS
    SELECT {_listed(spec.key)}, row_no FROM {spec.table} LIMIT 0
    """


def _later_rows(spec: KindSpec) -> str:
    # Rows of a key that came before in this file: stored by it, found unchanged, or
    # in the same chunk. Of each once: a file may give all its rows one key.
    key = _listed(spec.key)
    same = _same_key(spec, "earlier", "perhaps_seen")
    return f"""
    WITH earlier AS (
        SELECT {key}, row_no FROM {spec.table} WHERE batch = $batch
        UNION ALL
        SELECT {key}, row_no FROM unchanged_firsts
        UNION ALL
        SELECT {key}, min(row_no) AS row_no FROM perhaps_seen GROUP BY {key}
    )

    SELECT perhaps_seen.row_no, min(earlier.row_no) AS first_row_no
    FROM perhaps_seen
    INNER JOIN earlier ON {same}
    GROUP BY perhaps_seen.row_no
    HAVING min(earlier.row_no) < perhaps_seen.row_no
    """


def _stored_keys(spec: KindSpec) -> str:
    return f"""
    SELECT row_no FROM staged
    WHERE EXISTS (
        SELECT 1 FROM {spec.table} AS version
        WHERE version.batch < $batch AND {_same_key(spec, "version", "staged")}
    )
    """


def _judge(spec: KindSpec) -> str:
    # Only of rows with one of the keys is the content worked out: for all that are
    # stored it would take minutes.
    told = _listed(spec.fields)
    return f"""
    WITH of_the_keys AS (
        SELECT {told} FROM {spec.table} AS version
        WHERE batch < $batch AND EXISTS (
            SELECT 1 FROM hashed WHERE {_same_key(spec, "hashed", "version")}
        )
    ),

    stored AS (
        SELECT DISTINCT {content_hash(spec)} AS content_hash FROM of_the_keys
    ),

    first_rows_kept AS (
        SELECT {told}, row_no FROM {spec.table}
        WHERE batch = $batch AND row_no IN (SELECT first_row_no FROM firsts)
    ),

    first_contents AS (
        SELECT row_no, content_hash FROM hashed
        UNION ALL
        SELECT row_no, {content_hash(spec)} FROM first_rows_kept
        UNION ALL
        SELECT row_no, content_hash FROM repeated_rows
        WHERE batch = $batch AND row_no IN (SELECT first_row_no FROM firsts)
    )

    SELECT
        hashed.*,
        firsts.first_row_no,
        stored.content_hash IS NOT NULL AS is_stored,
        CASE
            WHEN stored.content_hash IS NOT NULL THEN 'unchanged'
            WHEN firsts.first_row_no = hashed.row_no THEN 'replaced'
            WHEN first_contents.content_hash = hashed.content_hash THEN 'unchanged'
            ELSE 'duplicate_key_in_file'
        END AS verdict
    FROM hashed
    INNER JOIN firsts ON hashed.row_no = firsts.row_no
    INNER JOIN first_contents ON firsts.first_row_no = first_contents.row_no
    LEFT JOIN stored ON hashed.content_hash = stored.content_hash
    """


def _remember(spec: KindSpec) -> str:
    return f"""
    INSERT INTO unchanged_firsts
    SELECT {_listed(spec.key)}, row_no FROM judged
    WHERE first_row_no = row_no AND verdict = 'unchanged'
    """


def _insert(spec: KindSpec, rows: str) -> str:
    columns = _listed(spec.columns)
    return f"""
    INSERT INTO {spec.table} ({columns}, batch, row_no)
    SELECT {columns}, $batch, row_no FROM {rows}
    """


def _count_unknown(spec: KindSpec) -> str | None:
    if spec.name not in REFERS_TO:
        return None
    column, _, table = REFERS_TO[spec.name]
    return f"""
    SELECT count(*) FROM staged
    WHERE NOT EXISTS (
        SELECT 1 FROM {table} AS known WHERE known.{column} = staged.{column}
    )
    """


def _content(name: str) -> str:
    text = f"CAST({_quoted(name)} AS VARCHAR)"
    if name == "value":
        # With 0 added -0 is 0.
        return f"coalesce(CAST(TRY_CAST({name} AS DOUBLE) + 0 AS VARCHAR), {text})"
    return text


def _same_key(spec: KindSpec, left: str, right: str) -> str:
    # A field that may be left out is part of the key as well, empty or not.
    return " AND ".join(
        f"{left}.{_quoted(name)} {_equals(spec, name)} {right}.{_quoted(name)}"
        for name in spec.key
    )


def _equals(spec: KindSpec, name: str) -> str:
    return "=" if name in spec.required else "IS NOT DISTINCT FROM"


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(map(_quoted, names))


def _quoted(name: str) -> str:
    return f'"{name}"'


STATEMENTS = {name: _of(spec) for name, spec in KINDS.items()}
