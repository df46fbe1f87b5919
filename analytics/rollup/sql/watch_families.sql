-- watch_families: the partitions of all failures that are watched, and how they vary.
--
-- Grain    one family
-- Key      family
-- Units    level_variance: variance of the groups' own levels around 1; dispersion:
--          variance over mean of counts; shock_variance: of months, shared by all
--          groups; look_shock: of one group in one month
-- Reads    filled by watching.py
-- Feeds    the watch
--
-- A family without groups has no values in the records and is not watched.
--
-- Parameters: none

CREATE TABLE watch_families (
    family VARCHAR,
    n_groups BIGINT,
    n_failures BIGINT,
    n_thin BIGINT,
    share_not_recorded DOUBLE,
    level_variance DOUBLE,
    dispersion DOUBLE,
    shock_variance DOUBLE,
    look_shock DOUBLE,
    threshold DOUBLE
);
