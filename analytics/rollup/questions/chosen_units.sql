-- chosen_units: the units under the filters; put before a question as chosen_units.
--
-- Grain    one unit of the register, with the reason it is left out of lives, if any;
--          is_returned = with a case
-- Reads    units
--
-- Filters of the failure do not choose units.
--
-- Parameters: each VARCHAR[], NULL = no filter; $from, $to DATE on the in-service day
SELECT *
FROM units
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
    AND ($from IS NULL OR in_service_day >= CAST($from AS DATE))
    AND ($to IS NULL OR in_service_day <= CAST($to AS DATE))
