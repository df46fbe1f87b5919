-- failure_months: returns by month of failure and age on that day.
--
-- Grain    month of failure x age band
-- Censored age_from IS NULL: the age is not known (unit not on record, no usable dates,
--          or a failure before the unit was in service)
-- Units    age_from: first day of age of the band
-- Reads    chosen_cases
--
-- Parameters: $age_from, $age_to INTEGER[], $not_failures VARCHAR[]
WITH bands AS (
    SELECT
        unnest(CAST($age_from AS INTEGER[])) AS age_from,
        unnest(CAST($age_to AS INTEGER[])) AS age_to
)

SELECT
    CAST(date_trunc('month', chosen.failure_day) AS DATE) AS month,
    bands.age_from,
    count(*) AS n_received,
    count(*) FILTER (WHERE chosen.mode IS NULL) AS n_open,
    count(*) FILTER (
        WHERE
        chosen.mode IS NOT NULL
        AND NOT list_contains(CAST($not_failures AS VARCHAR[]), chosen.mode)
    ) AS n_failures,
    count(*) FILTER (
        WHERE list_contains(CAST($not_failures AS VARCHAR[]), chosen.mode)
    ) AS n_no_failure
FROM chosen_cases AS chosen
LEFT JOIN bands
    ON chosen.age_days >= bands.age_from AND chosen.age_days < bands.age_to
GROUP BY ALL
ORDER BY ALL;
