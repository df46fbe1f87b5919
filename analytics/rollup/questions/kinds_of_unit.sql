-- kinds_of_unit: what the points of a check depend on, for every kind of unit.
--
-- Grain    connector x phases x supply system, NULL = not recorded
-- Reads    case_units
SELECT DISTINCT connector, phases, supply_system FROM case_units
UNION
SELECT NULL, NULL, NULL
ORDER BY ALL;
