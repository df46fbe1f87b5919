-- watch_cases: the cases behind each alarm, and those since.
--
-- Grain    alarm x case
-- Key      alarm, case_id
-- Units    is_after: failed after the month of the alarm
-- Reads    filled by watching.py
-- Feeds    the watch
--
-- Parameters: none

CREATE TABLE watch_cases (
    alarm VARCHAR,
    case_id VARCHAR,
    is_after BOOLEAN
);
