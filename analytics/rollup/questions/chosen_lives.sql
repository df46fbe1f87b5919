-- chosen_lives: the lives under the filters; put before a question as chosen_lives.
--
-- Grain    one unit with usable dates; is_event = failed in a way the filters name
-- Reads    lives
--
-- Filters of the unit choose units. Filters of the failure (mode, mechanism, cause,
-- opened before arrival) choose which failures count; a unit that failed otherwise
-- stays and is censored on that day.
--
-- group_name and stratum are the values of the words $by and $within, for comparing.
--
-- Parameters: each VARCHAR[], NULL = no filter; $from, $to DATE on the in-service day;
--             $by, $within VARCHAR, a filter of units or NULL
SELECT
    unit_no,
    CASE CAST($by AS VARCHAR)
        WHEN 'model' THEN model
        WHEN 'lot' THEN production_lot
        WHEN 'hardware_revision' THEN hardware_revision
        WHEN 'firmware_version' THEN firmware_version
        WHEN 'cable_supplier' THEN cable_supplier
        WHEN 'site' THEN site
        WHEN 'region' THEN region
        WHEN 'environment' THEN environment
        WHEN 'duty' THEN duty
        WHEN 'connector' THEN connector
    END AS group_name,
    CASE CAST($within AS VARCHAR)
        WHEN 'model' THEN model
        WHEN 'lot' THEN production_lot
        WHEN 'hardware_revision' THEN hardware_revision
        WHEN 'firmware_version' THEN firmware_version
        WHEN 'cable_supplier' THEN cable_supplier
        WHEN 'site' THEN site
        WHEN 'region' THEN region
        WHEN 'environment' THEN environment
        WHEN 'duty' THEN duty
        WHEN 'connector' THEN connector
    END AS stratum,
    entry_age,
    lower_age,
    end_age,
    in_service_estimated,
    ends_open,
    mode,
    mode IS NOT NULL AS is_failed,
    -- Most units have not failed: the filters look at those that have alone.
    CASE
        WHEN mode IS NULL THEN false
        ELSE
            ($modes IS NULL OR list_contains(CAST($modes AS VARCHAR[]), mode))
            AND (
                $mechanism IS NULL
                OR coalesce(
                    list_contains(CAST($mechanism AS VARCHAR[]), mechanism), false
                )
            )
            AND (
                $cause IS NULL
                OR coalesce(
                    list_contains(CAST($cause AS VARCHAR[]), cause_category), false
                )
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
    END AS is_event
FROM lives
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
