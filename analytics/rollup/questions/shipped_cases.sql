-- shipped_cases: cases by model and lot of their unit, failures apart.
--
-- Grain    model x production lot; both NULL: units not on record
-- Reads    chosen_cases
--
-- Parameters: $not_failures VARCHAR[]
SELECT
    model,
    production_lot AS lot,
    unit_no IS NOT NULL AS is_registered,
    count(*) AS n_cases,
    count(*) FILTER (
        WHERE
        mode IS NOT NULL
        AND NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
    ) AS n_failures
FROM chosen_cases
GROUP BY ALL
ORDER BY ALL;
