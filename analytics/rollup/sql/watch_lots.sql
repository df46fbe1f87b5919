-- watch_lots: the lots of a model under its alarm.
--
-- Grain    alarm x lot
-- Key      alarm, lot
-- Units    counts of first failures from since on; ratio: rate of the lot over that of
--          the model's other lots
-- Reads    filled by watch_explained.py
-- Feeds    the watch
--
-- Parameters: none

CREATE TABLE watch_lots (
    alarm VARCHAR,
    lot VARCHAR,
    n_cases BIGINT,
    expected DOUBLE,
    ratio DOUBLE,
    low DOUBLE,
    high DOUBLE
);
