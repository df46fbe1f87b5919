-- watch_comparison: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_comparison
SELECT * FROM watch_comparison
ORDER BY alarm, gain DESC, dimension;
