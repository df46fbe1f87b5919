-- watch_thin: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_thin
SELECT * FROM watch_thin
ORDER BY expected_year DESC, family, failure, value;
