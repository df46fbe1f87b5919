-- chosen_units: the units under the filters; put before a question as chosen_units.
--
-- Grain    one unit of the register, with the reason it is left out of lives, if any
-- Reads    units, left_out_units
--
-- Filters of the failure do not choose units.
--
-- Parameters: each VARCHAR[], NULL = no filter; $from, $to DATE on the in-service day
SELECT units.*, left_out_units.reason AS left_out
FROM units
LEFT JOIN left_out_units ON units.unit_no = left_out_units.unit_no
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
    AND ($from IS NULL OR units.in_service_day >= CAST($from AS DATE))
    AND ($to IS NULL OR units.in_service_day <= CAST($to AS DATE))
