-- n_closed: how many cases have a day of closing on record.
--
-- Grain    one row
-- Reads    cases
SELECT count(closed_on) AS n_closed FROM cases;
