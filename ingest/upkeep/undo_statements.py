"""The SQL by which a batch is taken back.

`{table}` and the like are names of our own; every value is a parameter.
"""

ABOUT = "SELECT path, kind, undone_at FROM batches WHERE batch = $batch"

HIGHEST = "SELECT coalesce(max(batch), 0) FROM batches"

# Rows of a later batch whose content the batch that goes had stored. A second row of
# a key in that file with other content is a duplicate there, as it would have been.
STAND_IN = """
CREATE OR REPLACE TEMP TABLE standing_in AS
WITH near AS (
    SELECT {columns}, batch, row_no, rowid AS place FROM {table} AS version
    WHERE EXISTS (
        SELECT 1 FROM {table} AS gone
        WHERE gone.batch = $batch AND {same_key_as_gone}
    )
),

contents AS (
    SELECT *, {digest} AS content_hash FROM near
),

repeated AS (
    SELECT gone.*, repeat.first_row_no, repeat.n_rows
    FROM contents AS gone
    INNER JOIN (
        SELECT content_hash, min(row_no) AS first_row_no, count(*) AS n_rows
        FROM repeated_rows
        WHERE batch = $later AND kind = $kind
        GROUP BY content_hash
    ) AS repeat ON gone.content_hash = repeat.content_hash
    WHERE gone.batch = $batch
),

others AS (
    SELECT version.*, version.row_no AS at_row
    FROM contents AS version
    WHERE version.batch = $later
    UNION ALL
    SELECT version.*, repeat.row_no AS at_row
    FROM repeated_rows AS repeat
    INNER JOIN contents AS version ON repeat.content_hash = version.content_hash
    WHERE repeat.batch = $later AND repeat.kind = $kind
)

SELECT
    repeated.*,
    EXISTS (
        SELECT 1 FROM others
        WHERE
            {same_key_as_others}
            AND others.content_hash <> repeated.content_hash
            AND others.at_row < repeated.first_row_no
    ) AS is_second,
    EXISTS (
        SELECT 1 FROM near AS older
        WHERE {same_key_as_older} AND older.batch < $later AND older.batch <> $batch
    ) AS is_newer
FROM repeated
"""

NEXT_LATER = """
SELECT min(repeat.batch) FROM repeated_rows AS repeat
INNER JOIN (
    SELECT {digest} AS content_hash FROM {table} WHERE batch = $batch
) AS gone ON repeat.content_hash = gone.content_hash
WHERE repeat.kind = $kind AND repeat.batch > $after
"""

MOVE = """
UPDATE {table}
SET batch = $later, row_no = standing_in.first_row_no
FROM standing_in
WHERE {table}.rowid = standing_in.place AND NOT standing_in.is_second
"""

RECOUNT = """
UPDATE batches SET
    n_unchanged = n_unchanged - moved.n_accepted - moved.n_replaced - moved.n_rejected,
    n_accepted = batches.n_accepted + moved.n_accepted,
    n_replaced = batches.n_replaced + moved.n_replaced,
    n_rejected = batches.n_rejected + moved.n_rejected
FROM (
    SELECT
        count(*) FILTER (NOT is_second AND NOT is_newer) AS n_accepted,
        count(*) FILTER (NOT is_second AND is_newer) AS n_replaced,
        coalesce(sum(n_rows) FILTER (is_second), 0) AS n_rejected
    FROM standing_in
) AS moved
WHERE batch = $later
"""

NO_REPEATS = """
DELETE FROM repeated_rows
WHERE
    batch = $later
    AND kind = $kind
    AND content_hash IN (SELECT content_hash FROM standing_in)
"""

SECOND = """
SELECT {texts}, first_row_no, n_rows FROM standing_in WHERE is_second
ORDER BY first_row_no
"""

SET_ASIDE = """
INSERT INTO rejected_rows
SELECT $rejected_row, $kind, $later, path, $row_no, $cells, $problems, NULL, 0
FROM batches
WHERE batch = $later
ON CONFLICT DO NOTHING
RETURNING rejected_row
"""

SET_ASIDE_AGAIN = """
INSERT INTO repeated_rejected_rows
VALUES ($later, $rejected_row, $row_no, $problems, 0)
"""

COUNT_PROBLEM = """
INSERT INTO batch_problems VALUES ($later, $field, $code, $n_rows)
"""

TAKE_OVER = """
CREATE OR REPLACE TEMP TABLE taking_over AS
SELECT
    repeat.rejected_row,
    repeat.batch,
    min(repeat.row_no) AS row_no,
    arg_min(repeat.problems, repeat.row_no) AS problems,
    arg_min(repeat.read_as, repeat.row_no) AS read_as,
    any_value(batches.path) AS path
FROM repeated_rejected_rows AS repeat
INNER JOIN rejected_rows AS gone ON repeat.rejected_row = gone.rejected_row
INNER JOIN batches ON repeat.batch = batches.batch
WHERE gone.batch = $batch
GROUP BY repeat.rejected_row, repeat.batch
QUALIFY
    row_number() OVER (PARTITION BY repeat.rejected_row ORDER BY repeat.batch) = 1
"""

# A correction that came before the row itself could not have resolved it.
MOVE_REJECTED = """
UPDATE rejected_rows AS kept
SET
    batch = taking_over.batch,
    path = taking_over.path,
    row_no = taking_over.row_no,
    problems = taking_over.problems,
    read_as = taking_over.read_as,
    resolved_by = CASE
        WHEN kept.resolved_by > taking_over.batch THEN kept.resolved_by
    END
FROM taking_over
WHERE kept.rejected_row = taking_over.rejected_row
"""

NO_REJECTED_REPEATS = """
DELETE FROM repeated_rejected_rows USING taking_over
WHERE
    repeated_rejected_rows.rejected_row = taking_over.rejected_row
    AND repeated_rejected_rows.batch = taking_over.batch
"""

WAIT_AGAIN = """
UPDATE rejected_rows SET resolved_by = NULL
WHERE resolved_by = $batch
RETURNING rejected_row
"""

TAKEN_BACK = "UPDATE batches SET undone_at = $now WHERE batch = $batch"
