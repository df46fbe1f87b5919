-- life_working: to which age the units that have not failed were seen working.
--
-- Grain    end age
-- Censored all of them; n_open: of these, waiting for the cause of an open case
-- Units    age in whole days
-- Reads    chosen_lives
SELECT
    end_age,
    count(*) AS n_units,
    count(*) FILTER (WHERE ends_open) AS n_open
FROM chosen_lives
WHERE mode IS NULL
GROUP BY end_age
ORDER BY end_age;
