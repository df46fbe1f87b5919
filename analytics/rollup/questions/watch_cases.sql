-- watch_cases: the cases behind each alarm, with what is known of their units.
--
-- Grain    alarm x case
-- Reads    watch_cases, cases
SELECT
    watch_cases.alarm,
    watch_cases.case_id,
    cases.serial,
    cases.failure_day AS failed_on,
    cases.received_on,
    cases.mode,
    cases.model,
    cases.production_lot AS lot,
    cases.cable_supplier,
    cases.hardware_revision,
    cases.region,
    cases.site,
    watch_cases.is_after
FROM watch_cases
INNER JOIN cases ON watch_cases.case_id = cases.case_id
ORDER BY watch_cases.alarm, cases.failure_day, watch_cases.case_id;
