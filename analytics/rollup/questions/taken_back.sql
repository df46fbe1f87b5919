-- taken_back: how many files that the figures rest on were taken back since a moment.
--
-- Grain    one row
-- Reads    store.batches
--
-- Parameters: $since TIMESTAMP (UTC), $latest_batch BIGINT
SELECT count(*) AS n_batches FROM store.batches
WHERE undone_at > $since AND batch <= $latest_batch;
