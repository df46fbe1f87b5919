-- work_steps: how long the steps of the work took, or have taken so far.
--
-- Grain    step x days, of cases under the filters received in the 365 days to as_of
-- Units    days: whole days from receipt to confirmation, or from confirmation to
--          closing; n_done ended after so many, n_going had lasted so many at as_of
-- Censored n_going; a case closed without a mode waited until it was closed
-- Reads    chosen_cases
--
-- A case confirmed on no recorded day gives no days.
--
-- Parameters: $as_of DATE
SELECT
    step,
    CAST(
        date_diff('day', first_day, coalesce(last_day, seen_until)) AS INTEGER
    ) AS days,
    count(last_day) AS n_done,
    count(*) - count(last_day) AS n_going
FROM (
    SELECT
        'received_to_confirmed' AS step,
        received_on AS first_day,
        CASE WHEN mode IS NOT NULL THEN confirmed_on END AS last_day,
        coalesce(closed_on, CAST($as_of AS DATE)) AS seen_until
    FROM chosen_cases
    WHERE
        received_on > CAST($as_of AS DATE) - 365
        AND (mode IS NULL OR confirmed_on IS NOT NULL)
    UNION ALL
    SELECT
        'confirmed_to_closed' AS step,
        confirmed_on AS first_day,
        closed_on AS last_day,
        CAST($as_of AS DATE) AS seen_until
    FROM chosen_cases
    WHERE
        received_on > CAST($as_of AS DATE) - 365
        AND mode IS NOT NULL
        AND confirmed_on IS NOT NULL
) AS steps
GROUP BY ALL
ORDER BY step DESC, days;
