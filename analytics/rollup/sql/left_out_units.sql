-- left_out_units: units that tell nothing about time to failure, and why.
--
-- Grain    one unit left out of lives
-- Key      unit_no
-- Units    reason: no_dates, failed_before_service, failed_before_registration,
--          not_in_service_by_end, registered_after_end
-- Reads    unit_lives
-- Feeds    every life answer, data quality
--
-- Parameters: none

CREATE VIEW left_out_units AS
SELECT unit_no, serial, left_out AS reason, recorded_failure_day
FROM unit_lives
WHERE left_out IS NOT NULL;
