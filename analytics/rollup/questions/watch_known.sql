-- watch_known: the ids of all alarms in these figures.
--
-- Grain    alarm
-- Reads    watch_alarms
SELECT alarm FROM watch_alarms
ORDER BY alarm;
