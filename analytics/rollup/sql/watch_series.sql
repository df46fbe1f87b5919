-- watch_series: the group of each alarm, month by month.
--
-- Grain    alarm x month
-- Key      alarm, month
-- Units    month: first day; expected: at the group's own level before the month, times
--          the share of failures that is known by now (completeness); evidence NULL =
--          no failure in the month, or nothing above what is expected
-- Reads    filled by watching.py
-- Feeds    the watch
--
-- Parameters: none

CREATE TABLE watch_series (
    alarm VARCHAR,
    month DATE,
    observed BIGINT,
    expected DOUBLE,
    evidence DOUBLE,
    threshold DOUBLE,
    completeness DOUBLE
);
