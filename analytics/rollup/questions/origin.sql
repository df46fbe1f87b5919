-- origin: whether the store holds a workshop's records or an invented fleet.
--
-- Grain    one row
-- Reads    store.store_about
SELECT value FROM store.store_about WHERE key = 'origin';
