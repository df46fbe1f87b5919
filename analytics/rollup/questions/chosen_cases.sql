-- chosen_cases: the cases under the filters; put before a question as chosen_cases.
--
-- Grain    one case
-- Reads    cases
--
-- Parameters: each VARCHAR[], NULL = no filter; $from, $to DATE on received_on
SELECT *
FROM cases
WHERE
    ($model IS NULL OR list_contains(CAST($model AS VARCHAR[]), model))
    AND ($lot IS NULL OR list_contains(CAST($lot AS VARCHAR[]), production_lot))
    AND (
        $hardware_revision IS NULL
        OR list_contains(CAST($hardware_revision AS VARCHAR[]), hardware_revision)
    )
    AND (
        $firmware_version IS NULL
        OR list_contains(CAST($firmware_version AS VARCHAR[]), firmware_version)
    )
    AND ($site IS NULL OR list_contains(CAST($site AS VARCHAR[]), site))
    AND ($region IS NULL OR list_contains(CAST($region AS VARCHAR[]), region))
    AND (
        $environment IS NULL
        OR list_contains(CAST($environment AS VARCHAR[]), environment)
    )
    AND ($duty IS NULL OR list_contains(CAST($duty AS VARCHAR[]), duty))
    AND ($connector IS NULL OR list_contains(CAST($connector AS VARCHAR[]), connector))
    AND (
        $cable_supplier IS NULL
        OR list_contains(CAST($cable_supplier AS VARCHAR[]), cable_supplier)
    )
    AND (
        $opened_before_arrival IS NULL
        OR list_contains(
            CAST($opened_before_arrival AS VARCHAR[]), opened_before_arrival
        )
    )
    AND ($modes IS NULL OR list_contains(CAST($modes AS VARCHAR[]), mode))
    AND ($mechanism IS NULL OR list_contains(CAST($mechanism AS VARCHAR[]), mechanism))
    AND ($cause IS NULL OR list_contains(CAST($cause AS VARCHAR[]), cause_category))
    AND ($from IS NULL OR received_on >= CAST($from AS DATE))
    AND ($to IS NULL OR received_on <= CAST($to AS DATE))
