-- last_day: the last day the data speak for.
--
-- Grain    one row
-- Reads    store.repairs, store.batches
SELECT
    greatest(
        (SELECT max(received_on) FROM store.repairs),
        (
            SELECT max(complete_through) FROM store.batches
            WHERE undone_at IS NULL
        )
    ) AS last_day;
