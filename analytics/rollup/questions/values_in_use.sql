-- values_in_use: what can be chosen in a filter of unit groups.
--
-- Grain    dimension x value
-- Reads    values_in_use
SELECT dimension, value, n_units
FROM values_in_use
ORDER BY dimension, value;
