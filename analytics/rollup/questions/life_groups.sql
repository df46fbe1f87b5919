-- life_groups: units and failures asked for in each group, most failures first.
--
-- Grain    group_name (NULL = not recorded)
-- Reads    chosen_lives
SELECT
    group_name,
    count(*) AS n_units,
    count(*) FILTER (WHERE is_event) AS n_failed
FROM chosen_lives
GROUP BY group_name
ORDER BY n_failed DESC, n_units DESC, group_name;
