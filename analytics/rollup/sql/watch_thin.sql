-- watch_thin: groups in which a doubling would probably go unnoticed for a year.
--
-- Grain    family x failure x value
-- Key      family, failure, value
-- Units    expected_year: failures expected in the last 12 months
-- Reads    filled by watching.py
-- Feeds    the watch
--
-- Parameters: none

CREATE TABLE watch_thin (
    family VARCHAR,
    failure VARCHAR,
    value VARCHAR,
    n_failures BIGINT,
    expected_year DOUBLE,
    n_months BIGINT
);
