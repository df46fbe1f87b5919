-- watch_chosen: the alarms that have at least one case under the filters.
--
-- Grain    alarm
-- Units    n_chosen: its cases under the filters
-- Reads    watch_cases, chosen_cases
SELECT
    watch_cases.alarm,
    count(*) AS n_chosen
FROM watch_cases
INNER JOIN chosen_cases ON watch_cases.case_id = chosen_cases.case_id
GROUP BY watch_cases.alarm
ORDER BY watch_cases.alarm;
