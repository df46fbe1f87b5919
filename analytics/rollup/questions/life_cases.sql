-- life_cases: the cases of the units under the filters, by age of the unit.
--
-- Grain    age in whole days (NULL = the day it went into service is not known)
-- Units    n_open: cases not confirmed by the day the figures speak for; n_closed:
--          confirmed; n_failures: of these, failures asked for; n_after_end: failures
--          after the observation end; n_after_term: cases after the end of the term
-- Reads    cases, units
--
-- The filters of units hold for the unit of a case: what the case itself says of its
-- firmware, and the day it was received, choose nothing here.
--
-- Parameters: $observation_end DATE, $not_failures VARCHAR[]; filters: VARCHAR[], NULL =
--             no filter; $from, $to DATE on the in-service day
SELECT
    age_days AS age,
    count(*) FILTER (WHERE mode IS NULL) AS n_open,
    count(*) FILTER (WHERE mode IS NOT NULL) AS n_closed,
    count(*) FILTER (
        WHERE NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
        AND ($modes IS NULL OR list_contains(CAST($modes AS VARCHAR[]), mode))
        AND (
            $mechanism IS NULL
            OR coalesce(list_contains(CAST($mechanism AS VARCHAR[]), mechanism), false)
        )
        AND (
            $cause IS NULL
            OR coalesce(list_contains(CAST($cause AS VARCHAR[]), cause_category), false)
        )
        AND (
            $opened_before_arrival IS NULL
            OR coalesce(
                list_contains(
                    CAST($opened_before_arrival AS VARCHAR[]), opened_before_arrival
                ),
                false
            )
        )
    ) AS n_failures,
    count(*) FILTER (
        WHERE NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
        AND failure_day > CAST($observation_end AS DATE)
    ) AS n_after_end,
    count(*) FILTER (WHERE is_after_term) AS n_after_term
FROM cases
WHERE
    unit_no IS NOT NULL
    AND (
        $model IS NULL
        OR coalesce(list_contains(CAST($model AS VARCHAR[]), model), false)
    )
    AND (
        $lot IS NULL
        OR coalesce(list_contains(CAST($lot AS VARCHAR[]), production_lot), false)
    )
    AND (
        $hardware_revision IS NULL
        OR coalesce(list_contains(CAST($hardware_revision AS VARCHAR[]), hardware_revision), false)
    )
    AND (
        $site IS NULL
        OR coalesce(list_contains(CAST($site AS VARCHAR[]), site), false)
    )
    AND (
        $region IS NULL
        OR coalesce(list_contains(CAST($region AS VARCHAR[]), region), false)
    )
    AND (
        $environment IS NULL
        OR coalesce(list_contains(CAST($environment AS VARCHAR[]), environment), false)
    )
    AND (
        $duty IS NULL
        OR coalesce(list_contains(CAST($duty AS VARCHAR[]), duty), false)
    )
    AND (
        $connector IS NULL
        OR coalesce(list_contains(CAST($connector AS VARCHAR[]), connector), false)
    )
    AND (
        $cable_supplier IS NULL
        OR coalesce(list_contains(CAST($cable_supplier AS VARCHAR[]), cable_supplier), false)
    )
    AND (
        $firmware_version IS NULL
        OR unit_no IN (
            SELECT unit_no
            FROM units
            WHERE list_contains(CAST($firmware_version AS VARCHAR[]), firmware_version)
        )
    )
    AND ($from IS NULL OR failure_day - age_days >= CAST($from AS DATE))
    AND ($to IS NULL OR failure_day - age_days <= CAST($to AS DATE))
GROUP BY age_days
ORDER BY age_days;
