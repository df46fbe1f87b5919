-- quality_months: returns by the month of failure, the last twelve months.
--
-- Grain    month of failure; a month without returns has a row with 0
-- Units    last_day: the last day of the month, or the day the figures speak for
-- Reads    chosen_cases, about
SELECT
    months.failed_month,
    months.last_day,
    count(chosen_cases.case_id) AS n_received,
    count(chosen_cases.mode) AS n_confirmed
FROM (
    SELECT
        CAST(month AS DATE) AS failed_month,
        least(last_day(month), about.as_of) AS last_day
    FROM
        about,
        unnest(
            generate_series(
                date_trunc('month', about.as_of - INTERVAL 11 MONTH),
                about.as_of,
                INTERVAL 1 MONTH
            )
        ) AS series (month)
) AS months
LEFT JOIN
    chosen_cases
    ON months.failed_month = date_trunc('month', chosen_cases.failure_day)
GROUP BY months.failed_month, months.last_day
ORDER BY months.failed_month;
