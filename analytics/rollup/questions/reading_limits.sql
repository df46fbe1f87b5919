-- reading_limits: the limits that readings were judged by, for the id of a snapshot.
--
-- Grain    one set of facts
-- Reads    reading_limits
SELECT * FROM reading_limits ORDER BY context_no;
