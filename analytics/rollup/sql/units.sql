-- units: every unit of the register, flat, with the day its life began.
--
-- Grain    one unit
-- Key      unit_no; serial is unique too
-- Units    dates are calendar days; in_service_day NULL = neither date usable
-- Reads    store.units, model_rules
-- Feeds    cases, lives, left_out_units; exports; the analyst's own SQL
--
-- in_service_day is in_service_on, else shipped_on plus the model's usual lag: the
-- median (whole days, rounded down) among its units shipped at least 12 months
-- before as_of with both dates. Without such units the lag is not known and no day
-- is invented.
--
-- Parameters: $as_of DATE

CREATE TABLE units AS
WITH usual_lag AS (
    SELECT
        model,
        CAST(
            floor(median(date_diff('day', shipped_on, in_service_on))) AS INTEGER
        ) AS lag_days
    FROM store.units
    WHERE
        shipped_on <= CAST($as_of AS DATE) - INTERVAL 12 MONTH
        AND in_service_on <= $as_of
    GROUP BY model
),

dated AS (
    SELECT
        unit.*,
        coalesce(
            unit.in_service_on, unit.shipped_on + usual_lag.lag_days
        ) AS in_service_day,
        unit.in_service_on IS NULL
        AND unit.shipped_on IS NOT NULL
        AND usual_lag.lag_days IS NOT NULL AS in_service_estimated,
        coalesce(
            unit.warranty_months, model_rules.warranty_months
        ) AS term_months
    FROM store.units AS unit
    LEFT JOIN usual_lag ON unit.model = usual_lag.model
    LEFT JOIN model_rules ON unit.model = model_rules.model
)

SELECT
    row_number() OVER (ORDER BY serial) AS unit_no,
    serial,
    model,
    hardware_revision,
    firmware_version,
    production_lot,
    cable_supplier,
    manufactured_on,
    shipped_on,
    in_service_on,
    in_service_day,
    in_service_estimated,
    registered_on,
    retired_on,
    site,
    region,
    environment,
    duty,
    connector,
    greatest(
        CAST(in_service_day + to_months(term_months) AS DATE), warranty_extended_to
    ) AS warranty_until
FROM dated
ORDER BY serial;
