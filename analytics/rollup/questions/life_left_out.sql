-- life_left_out: units under the filters that tell nothing about time to failure.
--
-- Grain    reason
-- Reads    chosen_units
SELECT left_out AS reason, count(*) AS n_units
FROM chosen_units
WHERE left_out IS NOT NULL
GROUP BY left_out
ORDER BY left_out;
