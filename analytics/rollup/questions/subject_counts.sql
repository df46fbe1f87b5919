-- subject_counts: confirmed cases by mechanism and by cause category.
--
-- Grain    subject x value x mode; value NULL = not recorded
-- Reads    chosen_cases
SELECT 'mechanism' AS subject, mechanism AS value, mode, count(*) AS n_cases
FROM chosen_cases
WHERE mode IS NOT NULL
GROUP BY mechanism, mode
UNION ALL
SELECT 'cause' AS subject, cause_category AS value, mode, count(*) AS n_cases
FROM chosen_cases
WHERE mode IS NOT NULL
GROUP BY cause_category, mode
ORDER BY ALL;
