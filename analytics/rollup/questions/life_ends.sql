-- life_ends: where lives end, counted at distinct ages.
--
-- Grain    end age x lower bound of the failure
-- Units    ages in whole days; n_failed = failures asked for, n_other = other failures
-- Reads    chosen_lives
SELECT
    end_age,
    CASE WHEN is_event THEN lower_age END AS lower_age,
    count(*) FILTER (WHERE is_event) AS n_failed,
    count(*) FILTER (WHERE is_failed AND NOT is_event) AS n_other,
    count(*) FILTER (WHERE NOT is_failed) AS n_censored
FROM chosen_lives
GROUP BY ALL
ORDER BY ALL;
