-- watch_alarms: the rows of the table, as the watch left them.
--
-- Grain    as the table
-- Reads    watch_alarms
SELECT * FROM watch_alarms
ORDER BY look, evidence DESC, alarm;
