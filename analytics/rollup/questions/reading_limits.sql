-- reading_limits: the limits that readings were judged by, for the id of a snapshot.
--
-- Grain    one limit used
-- Reads    limits_used
SELECT DISTINCT * EXCLUDE (context_no) FROM limits_used ORDER BY ALL;
