-- quality_delays: how late reports come in, step by step.
--
-- Grain    step x delay x truncation; step: reported (failed to received),
--          confirmed (failed to confirmed)
-- Units    delay_days, truncation_days: whole days from the failure to the report,
--          and to the day the figures speak for
-- Reads    chosen_cases, about
--
-- Cases received in the 12 months to that day. Reported: those with a failure day of
-- their own. Confirmed: as in confirmation_delay, failures of the unit only.
--
-- Parameters: $not_failures VARCHAR[]
SELECT
    steps.step,
    steps.delay_days,
    date_diff('day', steps.failure_day, about.as_of) AS truncation_days,
    count(*) AS n_cases
FROM (
    SELECT
        'reported' AS step,
        date_diff('day', failure_day, received_on) AS delay_days,
        failure_day,
        received_on
    FROM chosen_cases
    WHERE NOT failure_day_from_receipt
    UNION ALL
    SELECT
        'confirmed' AS step,
        date_diff('day', failure_day, confirmed_on) AS delay_days,
        failure_day,
        received_on
    FROM chosen_cases
    WHERE
        confirmed_on IS NOT NULL
        AND NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
) AS steps
CROSS JOIN about
WHERE steps.received_on > about.as_of - INTERVAL 12 MONTH
GROUP BY ALL
ORDER BY ALL;
