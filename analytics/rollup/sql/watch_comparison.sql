-- watch_comparison: which value of each dimension explains an alarm best.
--
-- Grain    alarm x dimension
-- Key      alarm, dimension
-- Units    counts of first failures from since on; gain: log likelihood ratio less the
--          log of the number of values; ratio: rate with the value over rate without
-- Reads    filled by watch_explained.py
-- Feeds    the watch
--
-- The alarm's own value (is_own) speaks for its dimension.
-- Beside: with this value, but without the best one. Further: within the best value,
-- the value of this dimension that stands out once more.
--
-- Parameters: none

CREATE TABLE watch_comparison (
    alarm VARCHAR,
    dimension VARCHAR,
    value VARCHAR,
    n_cases BIGINT,
    expected DOUBLE,
    n_rest BIGINT,
    expected_rest DOUBLE,
    ratio DOUBLE,
    low DOUBLE,
    high DOUBLE,
    gain DOUBLE,
    is_best BOOLEAN,
    is_own BOOLEAN,
    n_beside BIGINT,
    expected_beside DOUBLE,
    further VARCHAR,
    n_further BIGINT,
    expected_further DOUBLE
);
