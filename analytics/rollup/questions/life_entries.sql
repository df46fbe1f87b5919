-- life_entries: where units come into view, counted at distinct ages.
--
-- Grain    entry age
-- Units    age in whole days
-- Reads    chosen_lives
SELECT
    entry_age,
    count(*) AS n_entered,
    count(*) FILTER (WHERE ends_open) AS n_open,
    count(*) FILTER (WHERE in_service_estimated) AS n_estimated_start
FROM chosen_lives
GROUP BY entry_age
ORDER BY entry_age;
