-- life_ends: where lives end, counted at distinct ages.
--
-- Grain    end age x mode x asked for or not x lower bound of a failure asked for
-- Censored mode NULL: still working when last seen; ends_open: waiting for its cause
-- Units    ages in whole days
-- Reads    chosen_lives
--
-- Most lives have not ended by a failure: those are counted by few columns, faster.
SELECT
    end_age,
    CAST(NULL AS INTEGER) AS lower_age,
    CAST(NULL AS VARCHAR) AS mode,
    false AS is_event,
    ends_open,
    count(*) AS n_units
FROM chosen_lives
WHERE mode IS NULL
GROUP BY end_age, ends_open
UNION ALL
SELECT
    end_age,
    CASE WHEN is_event THEN lower_age END AS lower_age,
    mode,
    is_event,
    false AS ends_open,
    count(*) AS n_units
FROM chosen_lives
WHERE mode IS NOT NULL
GROUP BY ALL
ORDER BY ALL;
