-- open_work: cases under the filters that are not closed, by what they wait for.
--
-- Grain    state x days in it
-- Units    days: whole days up to as_of since the day of receipt (waiting for
--          confirmation), or since the mode was known (confirmed, not closed)
-- Reads    chosen_cases
--
-- Parameters: $as_of DATE
SELECT
    CASE
        WHEN mode IS NULL THEN 'waiting_for_confirmation'
        ELSE 'confirmed_not_closed'
    END AS state,
    CAST(
        date_diff(
            'day',
            CASE
                WHEN mode IS NULL THEN received_on
                ELSE coalesce(confirmed_on, received_on)
            END,
            CAST($as_of AS DATE)
        ) AS INTEGER
    ) AS days,
    count(*) AS n_cases,
    min(case_id) AS first_case_id
FROM chosen_cases
WHERE closed_on IS NULL
GROUP BY ALL
ORDER BY state DESC, days DESC;
