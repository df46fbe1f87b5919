-- alarm_units: units in the field that share an alarmed lot, supplier, model, revision
-- or region.
--
-- Grain    alarm x unit
-- Units    shared: what the unit shares with the alarm, `;` between
-- Reads    chosen_units, cases
--
-- Left out: units retired, scrapped or replaced by the day the figures speak for, those
-- that go into service after it, and those with a confirmed failure of the kind. A unit
-- whose in-service day is not known stays in the list. A value that is not recorded is
-- shared with nobody.
--
-- Parameters: $alarms, $dimensions, $values, $revisions VARCHAR[], one entry for each
-- group looked for, the most urgent alarm first; a revision narrows the group, NULL does
-- not; $alarms_of_modes, $modes VARCHAR[], one entry for
-- each alarm x mode; $as_of DATE
WITH looked_for AS (
    SELECT
        unnest(CAST($alarms AS VARCHAR[])) AS alarm,
        unnest(CAST($dimensions AS VARCHAR[])) AS dimension,
        unnest(CAST($values AS VARCHAR[])) AS value,
        unnest(CAST($revisions AS VARCHAR[])) AS revision,
        unnest(generate_series(1, len(CAST($alarms AS VARCHAR[])))) AS place
),

kinds AS (
    SELECT
        unnest(CAST($alarms_of_modes AS VARCHAR[])) AS alarm,
        unnest(CAST($modes AS VARCHAR[])) AS mode
),

failed AS (
    SELECT DISTINCT
        kinds.alarm,
        cases.unit_no
    FROM cases
    INNER JOIN kinds ON cases.mode = kinds.mode
    WHERE cases.unit_no IS NOT NULL
),

gone AS (
    SELECT DISTINCT unit_no
    FROM cases
    WHERE disposition IN ('scrapped', 'unit_replaced') AND unit_no IS NOT NULL
),

in_the_field AS (
    SELECT *
    FROM chosen_units
    WHERE
        coalesce(retired_on > CAST($as_of AS DATE), true)
        AND coalesce(in_service_day <= CAST($as_of AS DATE), true)
        AND unit_no NOT IN (SELECT unit_no FROM gone)
),

sharing AS (
    SELECT
        looked_for.alarm,
        unit.unit_no,
        min(looked_for.place) AS place,
        string_agg(
            replace(looked_for.dimension, '_', ' ')
            || ' '
            || looked_for.value
            || coalesce(', hardware revision ' || looked_for.revision, ''),
            '; '
            ORDER BY looked_for.place
        ) AS shared
    FROM in_the_field AS unit
    INNER JOIN
        looked_for
        ON
            looked_for.value = CASE looked_for.dimension
                WHEN 'model' THEN unit.model
                WHEN 'lot' THEN unit.production_lot
                WHEN 'cable_supplier' THEN unit.cable_supplier
                WHEN 'hardware_revision' THEN unit.hardware_revision
                WHEN 'region' THEN unit.region
            END
            AND (
                looked_for.revision IS NULL
                OR looked_for.revision IS NOT DISTINCT FROM unit.hardware_revision
            )
    GROUP BY looked_for.alarm, unit.unit_no
)

SELECT
    sharing.alarm,
    unit.serial,
    unit.model,
    unit.production_lot AS lot,
    unit.cable_supplier,
    unit.hardware_revision,
    unit.region,
    unit.site,
    unit.in_service_on,
    unit.warranty_until,
    sharing.shared
FROM sharing
INNER JOIN in_the_field AS unit ON sharing.unit_no = unit.unit_no
LEFT JOIN failed
    ON sharing.alarm = failed.alarm AND sharing.unit_no = failed.unit_no
WHERE failed.unit_no IS NULL
ORDER BY min(sharing.place) OVER (PARTITION BY sharing.alarm), unit.site, unit.serial;
