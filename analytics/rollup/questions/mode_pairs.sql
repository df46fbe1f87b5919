-- mode_pairs: confirmed cases by mode and what else is known of them.
--
-- Grain    dimension x mode x value
-- Censored value IS NULL: not recorded (no symptom told, or the unit is not on record)
-- Units    a case with several symptoms stands in several rows; dimension 'symptom',
--          value '' counts each case with a symptom on record once
-- Reads    chosen_cases
WITH confirmed AS (
    SELECT
        mode,
        cable_supplier,
        environment,
        list_distinct(
            list_filter(
                list_transform(
                    string_split(coalesce(symptoms, ''), ';'),
                    lambda symptom: trim(symptom)
                ),
                lambda symptom: symptom NOT IN ('', 'none_reported')
            )
        ) AS symptoms
    FROM chosen_cases
    WHERE mode IS NOT NULL
)

SELECT
    'cable_supplier' AS dimension, mode, cable_supplier AS value, count(*) AS n_cases
FROM confirmed
GROUP BY mode, cable_supplier
UNION ALL
SELECT 'environment' AS dimension, mode, environment AS value, count(*) AS n_cases
FROM confirmed
GROUP BY mode, environment
UNION ALL
SELECT
    'symptom' AS dimension,
    mode,
    CASE WHEN len(symptoms) > 0 THEN '' END AS value,
    count(*) AS n_cases
FROM confirmed
GROUP BY ALL
UNION ALL
SELECT 'symptom' AS dimension, mode, symptom AS value, count(*) AS n_cases
FROM (SELECT mode, unnest(symptoms) AS symptom FROM confirmed) AS told
GROUP BY mode, symptom
ORDER BY ALL;
