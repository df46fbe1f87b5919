-- batches: the files that the store was made from, but those taken back.
--
-- Grain    one ingested file
-- Reads    store.batches, store.store_about
SELECT
    batch,
    sha256,
    kind,
    -- Names forgotten so far: then the same files no longer make the same figures.
    (SELECT max(value) FROM store.store_about WHERE key = 'forgotten') AS forgotten
FROM store.batches
WHERE undone_at IS NULL
ORDER BY batch;
