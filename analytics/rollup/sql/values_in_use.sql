-- values_in_use: what can be chosen in a filter of unit groups.
--
-- Grain    dimension x value
-- Key      dimension, value
-- Units    n_units: units of the register with that value
-- Reads    unit_lives
-- Feeds    filters, data quality
--
-- Kept, since every page asks for it and counting takes a pass over all units.
--
-- Parameters: none

CREATE TABLE values_in_use AS
SELECT 'model' AS dimension, model AS value, count(*) AS n_units
FROM unit_lives
WHERE model IS NOT NULL
GROUP BY model
UNION ALL
SELECT 'lot' AS dimension, production_lot AS value, count(*) AS n_units
FROM unit_lives
WHERE production_lot IS NOT NULL
GROUP BY production_lot
UNION ALL
SELECT 'hardware_revision' AS dimension, hardware_revision AS value, count(*) AS n_units
FROM unit_lives
WHERE hardware_revision IS NOT NULL
GROUP BY hardware_revision
UNION ALL
SELECT 'cable_supplier' AS dimension, cable_supplier AS value, count(*) AS n_units
FROM unit_lives
WHERE cable_supplier IS NOT NULL
GROUP BY cable_supplier
UNION ALL
SELECT 'site' AS dimension, site AS value, count(*) AS n_units
FROM unit_lives
WHERE site IS NOT NULL
GROUP BY site
UNION ALL
SELECT 'region' AS dimension, region AS value, count(*) AS n_units
FROM unit_lives
WHERE region IS NOT NULL
GROUP BY region
UNION ALL
SELECT 'environment' AS dimension, environment AS value, count(*) AS n_units
FROM unit_lives
WHERE environment IS NOT NULL
GROUP BY environment
UNION ALL
SELECT 'duty' AS dimension, duty AS value, count(*) AS n_units
FROM unit_lives
WHERE duty IS NOT NULL
GROUP BY duty
UNION ALL
SELECT 'connector' AS dimension, connector AS value, count(*) AS n_units
FROM unit_lives
WHERE connector IS NOT NULL
GROUP BY connector
ORDER BY dimension, value;
