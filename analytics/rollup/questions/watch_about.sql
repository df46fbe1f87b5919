-- watch_about: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_about
SELECT * FROM watch_about;
