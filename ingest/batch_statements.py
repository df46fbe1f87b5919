"""The SQL of one file on its way into the store that is the same for every kind.

Every value is a parameter; the tables of a chunk are found by their names.
"""

# Memory stays flat, however large the file: what is not in use goes to the disk.
FLAT_MEMORY = (
    "SET memory_limit = '160MB'",
    "SET preserve_insertion_order = false",
    # The next rows are read and judged meanwhile: they need the other processor.
    "SET threads = 1",
)

NEXT_BATCH = "SELECT coalesce(max(batch), 0) + 1 FROM batches"

SAME_FILE = """
SELECT min(batch) FROM batches
WHERE
    sha256 = $sha256
    AND kind = $kind
    AND undone_at IS NULL
    AND mapping IS NOT DISTINCT FROM $mapping
    AND undone_at IS NULL
    AND ($complete_through IS NULL OR complete_through = $complete_through)
HAVING count(*) > 0
"""

INSERT_BATCH = """
INSERT INTO batches (
    batch, started_at, path, kind, sha256, complete_through,
    n_read, n_accepted, n_unchanged, n_replaced, n_rejected, mapping, decimal_comma
)
VALUES (
    $batch, $started_at, $path, $kind, $sha256, $complete_through,
    $read, $accepted, $unchanged, $replaced, $rejected, $mapping, $decimal_comma
)
"""

QUARANTINE = """
INSERT INTO rejected_rows
SELECT rejected_row, $kind, $batch, $path, row_no, cells, problems, NULL, read_as
FROM set_aside
QUALIFY row_number() OVER (PARTITION BY rejected_row ORDER BY row_no) = 1
ON CONFLICT DO NOTHING
RETURNING rejected_row
"""

RESOLVE = """
UPDATE rejected_rows SET resolved_by = $batch
WHERE resolved_by IS NULL AND rejected_row IN (SELECT unnest($rows))
RETURNING rejected_row
"""

WAITING = """
SELECT rejected_row FROM rejected_rows
WHERE resolved_by IS NULL AND rejected_row IN (SELECT unnest($rows))
"""

# Rows that files before this one have set aside.
WAITING_BEFORE = """
SELECT rejected_row, cells FROM rejected_rows
WHERE kind = $kind AND resolved_by IS NULL AND batch < $batch
"""

# A row set aside again, which an earlier batch had set aside.
REPEAT_REJECTED = """
INSERT INTO repeated_rejected_rows
SELECT
    $batch,
    set_aside.rejected_row,
    min(set_aside.row_no),
    arg_min(set_aside.problems, set_aside.row_no),
    min(set_aside.read_as)
FROM set_aside
INNER JOIN rejected_rows ON set_aside.rejected_row = rejected_rows.rejected_row
WHERE
    rejected_rows.batch < $batch
    AND NOT EXISTS (
        SELECT 1 FROM repeated_rejected_rows AS before
        WHERE
            before.batch = $batch AND before.rejected_row = set_aside.rejected_row
    )
GROUP BY set_aside.rejected_row
"""

DISCARD = (
    "DELETE FROM rejected_rows WHERE batch = $batch",
    "DELETE FROM repeated_rows WHERE batch = $batch",
    "DELETE FROM repeated_rejected_rows WHERE batch = $batch",
    "DELETE FROM unknown_cells WHERE batch = $batch",
)

HIDDEN_PROBLEMS = """
SELECT rejected_row, problems FROM rows_set_aside
WHERE
    kind = $kind
    AND regexp_matches(
        CAST(problems AS VARCHAR),
        '"code": "(not_text|bad_encoding|malformed_row|duplicate_key_in_file)"'
    )
"""

COUNT_VERDICTS = "SELECT verdict, count(*) FROM judged GROUP BY verdict"

# Rows whose content is a version of this file, or is when an earlier one is taken back.
BROUGHT = "SELECT row_no FROM judged WHERE verdict = 'replaced' OR is_stored"

DUPLICATES = """
SELECT row_no, first_row_no FROM judged WHERE verdict = 'duplicate_key_in_file'
"""

REPEAT = """
INSERT INTO repeated_rows
SELECT $batch, $kind, content_hash, row_no FROM judged WHERE is_stored
"""

KEEP_UNKNOWN_CELLS = """
INSERT INTO unknown_cells
SELECT $batch, row_no, field, cell FROM unknown_cells_of_rows
"""
