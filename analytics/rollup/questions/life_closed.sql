-- life_closed: what the closed cases of units with life data came to, by age.
--
-- Grain    age in whole days
-- Units    n_returns: closed cases; n_failures: of these, failures asked for
-- Reads    chosen_units, cases
--
-- Parameters: $not_failures VARCHAR[]; of the failure, each VARCHAR[], NULL = no filter
SELECT
    date_diff('day', chosen_units.in_service_day, cases.failure_day) AS age,
    count(*) AS n_returns,
    count(*) FILTER (
        WHERE NOT list_contains(CAST($not_failures AS VARCHAR[]), cases.mode)
        AND ($modes IS NULL OR list_contains(CAST($modes AS VARCHAR[]), cases.mode))
        AND (
            $mechanism IS NULL
            OR coalesce(
                list_contains(CAST($mechanism AS VARCHAR[]), cases.mechanism), false
            )
        )
        AND (
            $cause IS NULL
            OR coalesce(
                list_contains(CAST($cause AS VARCHAR[]), cases.cause_category), false
            )
        )
        AND (
            $opened_before_arrival IS NULL
            OR coalesce(
                list_contains(
                    CAST($opened_before_arrival AS VARCHAR[]),
                    cases.opened_before_arrival
                ),
                false
            )
        )
    ) AS n_failures
FROM chosen_units
INNER JOIN cases ON chosen_units.unit_no = cases.unit_no
WHERE
    chosen_units.is_returned
    AND chosen_units.left_out IS NULL
    AND cases.mode IS NOT NULL
    AND cases.failure_day >= chosen_units.in_service_day
GROUP BY age
ORDER BY age;
