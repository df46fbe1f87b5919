-- batches: the files that the store was made from.
--
-- Grain    one ingested file
-- Reads    store.batches
SELECT batch, sha256, kind FROM store.batches ORDER BY batch;
