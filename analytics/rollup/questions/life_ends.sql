-- life_ends: where lives end, counted at distinct ages.
--
-- Grain    end age x mode x asked for or not x lower bound of a failure asked for
-- Censored mode NULL: still working when last seen; ends_open: waiting for its cause
-- Units    ages in whole days
-- Reads    chosen_lives
SELECT
    end_age,
    CASE WHEN is_event THEN lower_age END AS lower_age,
    mode,
    is_event,
    ends_open,
    count(*) AS n_units
FROM chosen_lives
GROUP BY ALL
ORDER BY ALL;
