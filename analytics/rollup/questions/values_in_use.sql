-- values_in_use: what can be chosen in a filter of unit groups.
--
-- Grain    dimension x value
-- Reads    units
WITH used AS (
    UNPIVOT (
        SELECT
            model,
            production_lot AS lot,
            hardware_revision,
            cable_supplier,
            site,
            region,
            environment,
            duty,
            connector
        FROM units
    )
    ON COLUMNS(*)
    INTO NAME dimension VALUE value
)

SELECT dimension, value, count(*) AS n_units
FROM used
GROUP BY dimension, value
ORDER BY dimension, value;
