-- watch_lots: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_lots
SELECT * FROM watch_lots
ORDER BY alarm, low DESC, n_cases DESC, lot;
