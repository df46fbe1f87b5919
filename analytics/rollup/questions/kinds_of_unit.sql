-- kinds_of_unit: what the points of a check depend on, for every kind of unit.
--
-- Grain    connector x phases x supply system, NULL = not recorded
-- Reads    store.units
SELECT DISTINCT connector, phases, supply_system FROM store.units
UNION
SELECT NULL, NULL, NULL
ORDER BY ALL;
