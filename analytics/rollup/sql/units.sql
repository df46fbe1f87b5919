-- units: every unit of the register, flat, with the day its life began.
--
-- Grain    one unit
-- Key      unit_no; serial is unique too
-- Units    dates are calendar days; in_service_day NULL = neither date usable;
--          left_out NULL = in the lives; is_returned = with a case
-- Reads    unit_lives
-- Feeds    exports; the analyst's own SQL
--
-- in_service_day is in_service_on, else shipped_on plus the model's usual lag: the
-- median (whole days, rounded down) among its units shipped at least 12 months
-- before as_of with both dates. Without such units the lag is not known and no day
-- is invented.
--
-- Parameters: none

CREATE VIEW units AS
SELECT
    unit_no,
    serial,
    model,
    hardware_revision,
    firmware_version,
    production_lot,
    cable_supplier,
    manufactured_on,
    shipped_on,
    CASE WHEN NOT in_service_estimated THEN in_service_day END AS in_service_on,
    in_service_day,
    in_service_estimated,
    registered_on,
    retired_on,
    site,
    region,
    environment,
    duty,
    connector,
    warranty_until,
    left_out,
    is_returned
FROM unit_lives;
