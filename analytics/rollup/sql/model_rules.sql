-- model_rules: what the settings say about a model; a model not named has no row.
--
-- Grain    one model named in the settings
-- Key      model
-- Units    reporting_lag_days: days; warranty_months: months, NULL = not known
-- Reads    the settings file, handed in as parameters
-- Feeds    units, cases, lives
--
-- Parameters: $models VARCHAR[], $reporting_lag_days INTEGER[],
--             $warranty_months INTEGER[]

CREATE TABLE model_rules AS
SELECT
    unnest(CAST($models AS VARCHAR[])) AS model,
    unnest(CAST($reporting_lag_days AS INTEGER[])) AS reporting_lag_days,
    unnest(CAST($warranty_months AS INTEGER[])) AS warranty_months
ORDER BY model;
