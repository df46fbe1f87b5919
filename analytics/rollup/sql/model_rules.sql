-- model_rules: what the settings say about a model; a model not named has no row.
--
-- Grain    one model named in the settings
-- Key      model
-- Units    reporting_lag_days: days; warranty_months: months; the maker's values in
--          the unit they are named by; NULL = not known
-- Reads    the settings file, handed in as parameters
-- Feeds    units, cases, lives, readings
--
-- Parameters: $models VARCHAR[], $reporting_lag_days INTEGER[],
--             $warranty_months INTEGER[], $control_supply_v DOUBLE[],
--             $coil_ohm DOUBLE[], $coil_v DOUBLE[], $contactor_open_ohm DOUBLE[]

CREATE TABLE model_rules AS
SELECT
    unnest(CAST($models AS VARCHAR[])) AS model,
    unnest(CAST($reporting_lag_days AS INTEGER[])) AS reporting_lag_days,
    unnest(CAST($warranty_months AS INTEGER[])) AS warranty_months,
    unnest(CAST($control_supply_v AS DOUBLE[])) AS control_supply_v,
    unnest(CAST($coil_ohm AS DOUBLE[])) AS coil_ohm,
    unnest(CAST($coil_v AS DOUBLE[])) AS coil_v,
    unnest(CAST($contactor_open_ohm AS DOUBLE[])) AS contactor_open_ohm
ORDER BY model;
