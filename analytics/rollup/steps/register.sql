-- register: every unit as the store has it, with the day its life began.
--
-- Grain    one unit
-- Key      unit_no, its place in the store; serial is unique too
-- Units    dates are calendar days; in_service_day NULL = neither date usable
-- Reads    store.unit_versions, superseded_units, usual_lag, model_rules
-- Feeds    cases, unit_lives
--
-- in_service_day is in_service_on, else shipped_on plus the model's usual lag. Without
-- units to take a lag from it is not known, and no day is invented.
--
-- A view: units are read as they pass, ten million need not be kept or sorted.
--
-- Parameters: none

CREATE TEMP VIEW register AS
SELECT
    version.*,
    coalesce(
        version.in_service_on, version.shipped_on + usual_lag.lag_days
    ) AS in_service_day,
    version.in_service_on IS NULL
    AND version.shipped_on IS NOT NULL
    AND usual_lag.lag_days IS NOT NULL AS in_service_estimated,
    greatest(
        CAST(
            coalesce(version.in_service_on, version.shipped_on + usual_lag.lag_days)
            + to_months(coalesce(version.warranty_months, model_rules.warranty_months))
            AS DATE
        ),
        version.warranty_extended_to
    ) AS warranty_until
FROM (SELECT rowid AS unit_no, * FROM store.unit_versions) AS version
ANTI JOIN superseded_units ON version.unit_no = superseded_units.unit_no
LEFT JOIN usual_lag ON version.model = usual_lag.model
LEFT JOIN model_rules ON version.model = model_rules.model;
