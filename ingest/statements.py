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

NEXT_BATCH = "SELECT coalesce(max(batch), 0) + 1 FROM batches"

SAME_FILE = """
SELECT min(batch) FROM batches
WHERE
    sha256 = $sha256
    AND kind = $kind
    AND ($complete_through IS NULL OR complete_through = $complete_through)
HAVING count(*) > 0
"""

INSERT_BATCH = """
INSERT INTO batches (
    batch, started_at, path, kind, sha256, complete_through,
    n_read, n_accepted, n_unchanged, n_replaced, n_rejected
)
VALUES (
    $batch, $started_at, $path, $kind, $sha256, $complete_through,
    $read, $accepted, $unchanged, $replaced, $rejected
)
"""

QUARANTINE = """
INSERT INTO rejected_rows
SELECT rejected_row, $kind, $batch, $path, row_no, cells, problems, NULL
FROM set_aside
QUALIFY row_number() OVER (PARTITION BY rejected_row ORDER BY row_no) = 1
ON CONFLICT DO NOTHING
RETURNING rejected_row
"""

RESOLVE = """
UPDATE rejected_rows SET resolved_by = $batch
WHERE resolved_by IS NULL AND list_contains($rows, rejected_row)
RETURNING rejected_row
"""

DISCARD_REJECTED = "DELETE FROM rejected_rows WHERE batch = $batch"

HIDDEN_PROBLEMS = """
SELECT rejected_row, problems FROM rejected_rows
WHERE
    kind = $kind
    AND resolved_by IS NULL
    AND regexp_matches(
        CAST(problems AS VARCHAR),
        '"code": "(not_text|bad_encoding|malformed_row|duplicate_key_in_file)"'
    )
"""

COUNT_VERDICTS = "SELECT verdict, count(*) FROM judged GROUP BY verdict"

CORRECTED = """
SELECT list(DISTINCT rejected_row) FROM judged
WHERE rejected_row IS NOT NULL AND verdict <> 'duplicate_key_in_file'
"""

DUPLICATES = """
SELECT row_no, first_row_no FROM judged WHERE verdict = 'duplicate_key_in_file'
"""


@dataclass(frozen=True, slots=True)
class KindStatements:
    """The statements of one kind, in the order in which a chunk goes through them."""

    staged_as: str
    begin: str
    hash: str
    first_rows: str
    judge: str
    insert: str
    count_unknown: str | None
    discard: str


def _of(spec: KindSpec) -> KindStatements:
    return KindStatements(
        staged_as=_staged_as(spec),
        begin=_begin(spec),
        hash=_hash(spec),
        first_rows=_first_rows(spec),
        judge=_judge(spec),
        insert=_insert(spec),
        count_unknown=_count_unknown(spec),
        discard=f"DELETE FROM {spec.table} WHERE batch = $batch",
    )


def _staged_as(spec: KindSpec) -> str:
    # No row: asked for the types of the columns.
    return f"""
    SELECT {_listed(spec.columns)}, row_no, content_hash AS rejected_row
    FROM {spec.table} LIMIT 0
    """


def _begin(spec: KindSpec) -> str:
    return f"""
    CREATE OR REPLACE TEMP TABLE first_rows AS
    SELECT {_listed(spec.key)}, content_hash, row_no FROM {spec.table} LIMIT 0
    """


def _hash(spec: KindSpec) -> str:
    # Typed values as text, so that 7.5 and 7.50 are one content; a separator and a
    # sign for "not recorded" that no cell holds keep neighbours apart.
    # What is derived from a value or message is left out: it is not what a row says.
    texts = ", ".join(
        f"coalesce({_content(name)}, chr(30))" for name in sorted(spec.fields)
    )
    return f"""
    SELECT *, md5(concat_ws(chr(31), {texts})) AS content_hash FROM staged
    """


def _first_rows(spec: KindSpec) -> str:
    # The first row of each key in this file, over all its chunks.
    key = _listed(spec.key)
    return f"""
    INSERT INTO first_rows
    SELECT {key}, content_hash, row_no
    FROM hashed
    WHERE NOT EXISTS (
        SELECT 1 FROM first_rows WHERE {_same_key(spec, "first_rows", "hashed")}
    )
    QUALIFY row_number() OVER (PARTITION BY {key} ORDER BY row_no) = 1
    """


def _judge(spec: KindSpec) -> str:
    return f"""
    WITH stored AS (
        SELECT DISTINCT content_hash FROM {spec.table}
        WHERE batch < $batch
        AND content_hash IN (SELECT content_hash FROM hashed)
    ),

    stored_keys AS (
        SELECT DISTINCT {_listed(spec.key)} FROM {spec.table} AS version
        WHERE batch < $batch
        AND EXISTS (
            SELECT 1 FROM hashed WHERE {_same_key(spec, "version", "hashed")}
        )
    )

    SELECT
        hashed.*,
        first_rows.row_no AS first_row_no,
        CASE
            WHEN stored.content_hash IS NOT NULL THEN 'unchanged'
            WHEN first_rows.row_no = hashed.row_no
                THEN CASE
                    WHEN stored_keys.{_quoted(spec.key[0])} IS NULL THEN 'accepted'
                    ELSE 'replaced'
                END
            WHEN first_rows.content_hash = hashed.content_hash THEN 'unchanged'
            ELSE 'duplicate_key_in_file'
        END AS verdict
    FROM hashed
    INNER JOIN first_rows ON {_same_key(spec, "hashed", "first_rows")}
    LEFT JOIN stored ON hashed.content_hash = stored.content_hash
    LEFT JOIN stored_keys ON {_same_key(spec, "hashed", "stored_keys")}
    """


def _insert(spec: KindSpec) -> str:
    columns = _listed(spec.columns)
    return f"""
    INSERT INTO {spec.table} ({columns}, content_hash, batch, row_no)
    SELECT {columns}, content_hash, $batch, row_no
    FROM judged
    WHERE verdict IN ('accepted', 'replaced')
    ORDER BY row_no
    """


def _count_unknown(spec: KindSpec) -> str | None:
    if spec.name not in REFERS_TO:
        return None
    column, _, table = REFERS_TO[spec.name]
    return f"""
    SELECT count(*) FROM judged
    WHERE verdict <> 'duplicate_key_in_file'
    AND {column} NOT IN (SELECT {column} FROM {table})
    """


def _content(name: str) -> str:
    text = f"CAST({_quoted(name)} AS VARCHAR)"
    if name == "value":
        return f"coalesce(CAST(TRY_CAST({name} AS DOUBLE) AS VARCHAR), {text})"
    return text


def _same_key(spec: KindSpec, left: str, right: str) -> str:
    return " AND ".join(
        f"{left}.{_quoted(name)} IS NOT DISTINCT FROM {right}.{_quoted(name)}"
        for name in spec.key
    )


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(map(_quoted, names))


def _quoted(name: str) -> str:
    return f'"{name}"'


STATEMENTS = {name: _of(spec) for name, spec in KINDS.items()}
