-- life_entries_by_group: where the units of the groups named come into view.
--
-- Grain    group_name x stratum x entry age
-- Units    age in whole days
-- Reads    chosen_lives
--
-- Parameters: $groups VARCHAR[]
SELECT group_name, stratum, entry_age, count(*) AS n_entered
FROM chosen_lives
WHERE list_contains(CAST($groups AS VARCHAR[]), group_name)
GROUP BY ALL
ORDER BY ALL;
