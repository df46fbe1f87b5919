-- watch_failures: first confirmed failures of units, by the day they failed.
--
-- Grain    one unit that failed
-- Key      case_id
-- Units    month: months since January 1970; age_days: whole days in service
-- Reads    watched_units, watched_kinds
--
-- Parameters: none
SELECT
    unit.case_id,
    unit.mode,
    unit.site,
    watched_kinds.kind,
    CAST(date_diff('month', DATE '1970-01-01', unit.stop_day) AS INTEGER) AS month,
    CAST(date_diff('day', unit.in_service_day, unit.stop_day) AS INTEGER) AS age_days
FROM watched_units AS unit
INNER JOIN
    watched_kinds
    ON
        unit.model IS NOT DISTINCT FROM watched_kinds.model
        AND unit.production_lot IS NOT DISTINCT FROM watched_kinds.production_lot
        AND unit.cable_supplier IS NOT DISTINCT FROM watched_kinds.cable_supplier
        AND unit.hardware_revision IS NOT DISTINCT FROM watched_kinds.hardware_revision
        AND unit.region IS NOT DISTINCT FROM watched_kinds.region
WHERE unit.case_id IS NOT NULL
ORDER BY unit.case_id;
