-- confirmation_delay: how long it took from failure to confirmation.
--
-- Grain    failed month x delay x days from the failure to as_of
-- Key      failed_month, delay_days, truncation_days
-- Censored delay_days IS NULL: not confirmed by as_of
-- Units    delay_days, truncation_days: whole days
-- Reads    cases
-- Feeds    the observation end (statistics.forecast.reporting_lag)
--
-- Only cases received in the 12 months to as_of; returns that are no failures of the
-- unit are left out, and so are confirmed cases without confirmed_on: they give no
-- delay.
--
-- Parameters: $as_of DATE, $not_failures VARCHAR[]

CREATE TABLE confirmation_delay AS
SELECT
    CAST(date_trunc('month', failure_day) AS DATE) AS failed_month,
    date_diff('day', failure_day, confirmed_on) AS delay_days,
    date_diff('day', failure_day, CAST($as_of AS DATE)) AS truncation_days,
    count(*) AS n_cases
FROM cases
WHERE
    received_on > CAST($as_of AS DATE) - INTERVAL 12 MONTH
    AND (
        mode IS NULL
        OR (
            confirmed_on IS NOT NULL
            AND NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
        )
    )
GROUP BY ALL
ORDER BY ALL;
