-- confirmed_delays: delays from failure to confirmation, with their truncation.
--
-- Grain    delay x truncation
-- Reads    confirmation_delay
SELECT
    delay_days,
    truncation_days,
    CAST(sum(n_cases) AS BIGINT) AS n_cases
FROM confirmation_delay
WHERE delay_days IS NOT NULL
GROUP BY delay_days, truncation_days
ORDER BY delay_days, truncation_days;
