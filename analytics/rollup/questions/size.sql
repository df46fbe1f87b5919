-- size: how much the snapshot holds.
--
-- Grain    one row
-- Reads    about
SELECT n_units, n_cases FROM about;
