-- watch_early: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_early
SELECT * FROM watch_early
ORDER BY p_value NULLS LAST, model, lot;
