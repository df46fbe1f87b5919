-- life_ends: where lives ended by a failure, counted at distinct ages.
--
-- Grain    end age x mode x asked for or not x lower bound of a failure asked for
-- Units    ages in whole days
-- Reads    chosen_lives
SELECT
    end_age,
    CASE WHEN is_event THEN lower_age END AS lower_age,
    mode,
    is_event,
    count(*) AS n_units
FROM chosen_lives
WHERE mode IS NOT NULL
GROUP BY ALL
ORDER BY ALL;
