-- life_open: open cases of the units under the filters.
--
-- Grain    one row
-- Units    n_cases: not confirmed by the day the figures speak for
-- Reads    chosen_units, cases
SELECT count(*) AS n_cases
FROM chosen_units
INNER JOIN cases ON chosen_units.unit_no = cases.unit_no
WHERE cases.mode IS NULL;
