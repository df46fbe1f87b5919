-- unit_facts: what is on record of one unit that its checks and faults depend on.
--
-- Grain    one unit; no row where the register does not hold it
-- Reads    units, unit_facts
--
-- Parameters: $serial VARCHAR
SELECT
    units.model,
    units.environment,
    units.connector,
    unit_facts.* EXCLUDE (serial)
FROM units
LEFT JOIN unit_facts ON units.serial = unit_facts.serial
WHERE units.serial = $serial;
