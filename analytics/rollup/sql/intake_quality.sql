-- intake_quality: what happened to the rows of every file, problem by problem.
--
-- Grain    one ingested file, but those taken back, x field x problem code (one row with NULLs if none)
-- Key      batch, field, code
-- Units    n_...: rows of the file; n_rows: rows with this problem or notice
-- Reads    store.batches, store.batch_problems
-- Feeds    data quality

CREATE TABLE intake_quality AS
SELECT
    batch.batch,
    batch.path AS file,
    batch.kind,
    batch.started_at,
    batch.n_read,
    batch.n_accepted,
    batch.n_unchanged,
    batch.n_replaced,
    batch.n_rejected,
    problem.field,
    problem.code,
    problem.n_rows
FROM store.batches AS batch
LEFT JOIN store.batch_problems AS problem ON batch.batch = problem.batch
WHERE batch.undone_at IS NULL
ORDER BY ALL;
