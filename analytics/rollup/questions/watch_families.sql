-- watch_families: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_families
SELECT * FROM watch_families
ORDER BY n_groups DESC, family;
