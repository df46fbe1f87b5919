-- unit_facts: what the limits of the checks ask of a unit, for the bench.
--
-- Grain    one unit with at least one of these facts on record
-- Key      serial
-- Units    lengths m, areas mm2, currents A; NULL = not recorded
-- Reads    store.units
-- Feeds    the windows and points of the unit on the bench
--
-- Parameters: none

CREATE TABLE unit_facts AS
SELECT
    serial,
    phases,
    supply_system,
    ground_fault_device,
    cable_length_m,
    conductor_area_mm2,
    earth_area_mm2,
    rated_current_a
FROM store.units
WHERE
    phases IS NOT NULL
    OR supply_system IS NOT NULL
    OR ground_fault_device IS NOT NULL
    OR cable_length_m IS NOT NULL
    OR conductor_area_mm2 IS NOT NULL
    OR earth_area_mm2 IS NOT NULL
    OR rated_current_a IS NOT NULL
ORDER BY serial;
