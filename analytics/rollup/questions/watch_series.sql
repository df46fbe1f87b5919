-- watch_series: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_series
SELECT * FROM watch_series
ORDER BY alarm, month;
