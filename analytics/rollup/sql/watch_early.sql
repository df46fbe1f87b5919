-- watch_early: lots younger than six months against the same ages of older lots.
--
-- Grain    model x lot
-- Key      model, lot
-- Units    n_failed, expected: first failures of any mode; n_older, expected_older: of
--          the lots compared with; compared_with: model, all
-- Reads    filled by watch_early.py
-- Feeds    the watch
--
-- Parameters: none

CREATE TABLE watch_early (
    model VARCHAR,
    lot VARCHAR,
    n_units BIGINT,
    first_month DATE,
    n_failed BIGINT,
    expected DOUBLE,
    n_older BIGINT,
    compared_with VARCHAR,
    ratio DOUBLE,
    low DOUBLE,
    high DOUBLE,
    p_value DOUBLE,
    adjusted_p DOUBLE,
    is_raised BOOLEAN
);
