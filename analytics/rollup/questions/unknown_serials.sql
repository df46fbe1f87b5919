-- unknown_serials: cases whose unit is not in the register.
--
-- Grain    one row
-- Reads    cases
SELECT count(*) AS n_cases FROM cases WHERE unit_no IS NULL;
