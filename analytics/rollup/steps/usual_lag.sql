-- usual_lag: how long a unit usually waits from shipping to service, by model.
--
-- Grain    one model with such units
-- Key      model
-- Units    lag_days: whole days
-- Reads    store.unit_versions, superseded_units
-- Feeds    register
--
-- The median (rounded down) among the units of the model shipped at least 12 months
-- before as_of with both dates.
--
-- Parameters: $as_of DATE

CREATE TEMP TABLE usual_lag AS
SELECT
    model,
    CAST(
        floor(median(date_diff('day', shipped_on, in_service_on))) AS INTEGER
    ) AS lag_days
FROM (SELECT rowid AS unit_no, * FROM store.unit_versions) AS version
ANTI JOIN superseded_units ON version.unit_no = superseded_units.unit_no
WHERE
    shipped_on <= CAST($as_of AS DATE) - INTERVAL 12 MONTH
    AND in_service_on <= $as_of
GROUP BY model;
