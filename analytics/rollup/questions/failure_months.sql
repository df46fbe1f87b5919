-- failure_months: returns by month of failure and age on that day.
--
-- Grain    month of failure x age band
-- Censored age_from IS NULL: the age is not known (unit not on record, no usable dates,
--          or a failure before the unit was in service)
-- Units    age_from: first day of age of the band; n_in_rate: failures that days in
--          service can be set beside, as in rate_counts
-- Reads    chosen_cases, units
--
-- Parameters: $age_from, $age_to INTEGER[], $not_failures VARCHAR[],
--             $seen_in_warranty BOOLEAN
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
    ) AS n_no_failure,
    count(*) FILTER (
        WHERE
        chosen.mode IS NOT NULL
        AND NOT list_contains(CAST($not_failures AS VARCHAR[]), chosen.mode)
        AND unit.in_service_day IS NOT NULL
        AND (
            chosen.failure_day >= unit.in_service_day OR unit.in_service_estimated
        )
        AND coalesce(
            unit.registered_on <= unit.in_service_day
            OR unit.registered_on < chosen.failure_day,
            true
        )
        AND NOT ($seen_in_warranty AND coalesce(chosen.is_after_term, false))
    ) AS n_in_rate
FROM chosen_cases AS chosen
LEFT JOIN units AS unit ON chosen.unit_no = unit.unit_no
LEFT JOIN bands
    ON chosen.age_days >= bands.age_from AND chosen.age_days < bands.age_to
GROUP BY ALL
ORDER BY ALL;
