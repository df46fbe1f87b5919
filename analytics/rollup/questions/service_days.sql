-- service_days: how many units begin, and end, to be in service and in view on a day.
--
-- Grain    day
-- Units    calendar days; a unit is in service from the day it begins up to the day
--          before it ends
-- Reads    chosen_units
--
-- A unit begins on its in-service day, or the day after it was registered where that
-- is later: a return before could not be seen as one of a unit on record. It ends with
-- its retirement, and where failures are only seen in warranty with its term.
--
-- Parameters: $seen_in_warranty BOOLEAN
WITH spans AS (
    SELECT
        CASE
            WHEN registered_on > in_service_day THEN registered_on + 1
            ELSE in_service_day
        END AS start_day,
        least(
            retired_on, CASE WHEN $seen_in_warranty THEN warranty_until END
        ) AS stop_day
    FROM chosen_units
    WHERE in_service_day IS NOT NULL
),

in_view AS (
    SELECT * FROM spans WHERE stop_day IS NULL OR start_day < stop_day
)

SELECT
    day,
    CAST(sum(n_starting) AS BIGINT) AS n_starting,
    CAST(sum(n_ending) AS BIGINT) AS n_ending
FROM (
    SELECT start_day AS day, count(*) AS n_starting, 0 AS n_ending
    FROM in_view
    GROUP BY start_day
    UNION ALL
    SELECT stop_day AS day, 0 AS n_starting, count(*) AS n_ending
    FROM in_view
    WHERE stop_day IS NOT NULL
    GROUP BY stop_day
) AS changes
GROUP BY day
ORDER BY day;
