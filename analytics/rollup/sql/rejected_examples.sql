-- rejected_examples: for each problem up to three of the rows set aside for it.
--
-- Grain    kind x field x code x example
-- Key      kind, field, code, example_no
-- Units    row_no: as a spreadsheet counts, the header is row 1; cell: at most 60
--          characters, NULL = empty, or of a column that has another name in the file
-- Reads    store.rows_set_aside, store.batches
-- Feeds    data quality
--
-- Rows not yet corrected come first, and of these the newest file.

CREATE TABLE rejected_examples AS
WITH problems AS (
    SELECT
        rejected.rejected_row,
        rejected.kind,
        rejected.batch,
        rejected.row_no,
        rejected.resolved_by IS NOT NULL AS is_corrected,
        unnest(
            from_json(
                rejected.problems,
                '[{"field": "VARCHAR", "code": "VARCHAR", "message": "VARCHAR"}]'
            ),
            recursive := true
        )
    FROM store.rows_set_aside AS rejected
    INNER JOIN store.batches AS batch ON rejected.batch = batch.batch
    WHERE batch.undone_at IS NULL
),

numbered AS (
    SELECT
        *,
        row_number() OVER (
            PARTITION BY kind, field, code
            ORDER BY is_corrected, batch DESC, row_no, rejected_row, message
        ) AS example_no
    FROM problems
),

-- The cells are read last, of the few rows that are shown.
shown AS (
    SELECT
        numbered.*,
        rejected.path AS file,
        CAST(rejected.cells AS MAP (VARCHAR, VARCHAR))[numbered.field] AS cell
    FROM numbered
    INNER JOIN store.rows_set_aside AS rejected
        ON numbered.rejected_row = rejected.rejected_row
    WHERE numbered.example_no <= 3
)

SELECT
    kind,
    field,
    code,
    example_no,
    file,
    row_no,
    CASE WHEN length(cell) > 60 THEN left(cell, 59) || '…' ELSE cell END AS cell,
    message,
    is_corrected
FROM shown
ORDER BY ALL;
