-- life_out_of_sight: units whose term ended before the observation did.
--
-- Grain    one row
-- Reads    chosen_units
--
-- Parameters: $observation_end DATE
SELECT count(*) AS n_units
FROM chosen_units
WHERE left_out IS NULL AND warranty_until < CAST($observation_end AS DATE);
