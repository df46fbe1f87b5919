-- life_ends_by_group: where the lives of the groups named end, at distinct ages.
--
-- Grain    group_name x stratum x end age
-- Units    ages in whole days; n_failed = failures asked for, n_other = other failures
-- Reads    chosen_lives
--
-- Parameters: $groups VARCHAR[]
SELECT
    group_name,
    stratum,
    end_age,
    count(*) FILTER (WHERE is_event) AS n_failed,
    count(*) FILTER (WHERE is_failed AND NOT is_event) AS n_other,
    count(*) FILTER (WHERE NOT is_failed) AS n_censored
FROM chosen_lives
WHERE list_contains(CAST($groups AS VARCHAR[]), group_name)
GROUP BY ALL
ORDER BY ALL;
