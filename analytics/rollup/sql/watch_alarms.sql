-- watch_alarms: every alarm that the watch raises or has raised.
--
-- Grain    one alarm of one group
-- Key      alarm
-- Units    look, since: first day of the month; window_months: looked back over;
--          observed, expected: in the window; ratio, low, high: from since to look;
--          n_after, expected_after: in the months after look
-- Reads    filled by watching.py
-- Feeds    the watch
--
-- founder is the alarm whose cases this one shares for the most part: those with one
-- founder are shown as one. value NULL = not recorded, or all units (component).
--
-- Parameters: none

CREATE TABLE watch_alarms (
    alarm VARCHAR,
    founder VARCHAR,
    family VARCHAR,
    failure VARCHAR,
    value VARCHAR,
    look DATE,
    since DATE,
    window_months INTEGER,
    observed BIGINT,
    expected DOUBLE,
    evidence DOUBLE,
    threshold DOUBLE,
    times_per_year DOUBLE,
    ratio DOUBLE,
    low DOUBLE,
    high DOUBLE,
    n_after BIGINT,
    expected_after DOUBLE,
    ratio_after DOUBLE,
    low_after DOUBLE,
    high_after DOUBLE,
    is_known BOOLEAN
);
