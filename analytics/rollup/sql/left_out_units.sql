-- left_out_units: units that tell nothing about time to failure, and why.
--
-- Grain    one unit left out of lives
-- Key      unit_no
-- Units    reason: no_dates, failed_before_service, failed_before_registration,
--          not_in_service_by_end, registered_after_end
-- Reads    unit_ends
-- Feeds    every life answer, data quality
--
-- Parameters: none

CREATE TABLE left_out_units AS
SELECT unit_no, serial, reason, recorded_failure_day
FROM unit_ends
WHERE reason IS NOT NULL
ORDER BY unit_no;
