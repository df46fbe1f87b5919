-- check_counts: how often a check failed in cases whose confirmed mode a reading backs.
--
-- Grain    one check x confirmed mode with an outcome on record
-- Key      check, mode
-- Units    n_done, n_failed: cases
-- Reads    readings, label_support, case_units, points_needed
-- Feeds    the next check
--
-- Only what was done whatever was suspected: every check at intake, and gate checks in
-- diagnosis too, whose outcome stands where both are there. What was read after a repair
-- says nothing of the fault. A check has failed where the last reading of a point
-- failed, and passed where all points needed passed; anything else counts as not done.
--
-- Parameters: $gate_checks VARCHAR[]

CREATE TABLE check_counts AS
WITH backed AS (
    SELECT
        label.case_id,
        label.mode,
        unit.connector,
        unit.phases,
        unit.supply_system
    FROM label_support AS label
    INNER JOIN case_units AS unit ON label.case_id = unit.case_id
    WHERE label.support = 'backed'
),

repaired AS (
    SELECT case_id, min(CAST(taken_at AS DATE)) AS repaired_on
    FROM readings
    WHERE stage = 'after_repair'
    GROUP BY case_id
),

counted AS (
    SELECT
        reading.case_id,
        reading."check",
        reading.point_name,
        reading.value IS NOT NULL AS has_value,
        reading.judged
    FROM readings AS reading
    INNER JOIN backed ON reading.case_id = backed.case_id
    LEFT JOIN repaired ON reading.case_id = repaired.case_id
    WHERE
        reading.is_last
        AND (
            reading.stage = 'intake'
            OR (
                reading.stage = 'diagnosis'
                AND list_contains(
                    CAST($gate_checks AS VARCHAR[]), reading."check"
                )
            )
        )
        AND (
            repaired.repaired_on IS NULL
            OR CAST(reading.taken_at AS DATE) <= repaired.repaired_on
        )
    QUALIFY
        (reading.stage = 'diagnosis') = bool_or(reading.stage = 'diagnosis') OVER (
            PARTITION BY reading.case_id, reading."check"
        )
),

summed AS (
    SELECT
        case_id,
        "check",
        count(*) FILTER (WHERE judged = 'fail') AS n_failed,
        count(*) FILTER (WHERE judged = 'pass') AS n_passed,
        count(*) FILTER (WHERE judged IN ('undefined', 'not_done')) AS n_open,
        count(*) FILTER (WHERE point_name IS NULL AND NOT has_value) AS n_for_all,
        count(*) FILTER (WHERE point_name IS NULL AND has_value) AS n_unnamed,
        coalesce(
            list(DISTINCT point_name) FILTER (WHERE point_name IS NOT NULL),
            CAST([] AS VARCHAR[])
        ) AS points
    FROM counted
    GROUP BY case_id, "check"
),

outcomes AS (
    SELECT
        summed."check",
        backed.mode,
        summed.n_failed > 0 AS has_failed,
        summed.n_passed > 0
        AND summed.n_open = 0
        AND (
            summed.n_for_all > 0
            OR len(
                list_filter(
                    coalesce(needed.needs, CAST([] AS VARCHAR[][])),
                    lambda need: NOT list_has_any(need, summed.points)
                )
            ) <= least(summed.n_unnamed, 1)
        ) AS has_passed
    FROM summed
    INNER JOIN backed ON summed.case_id = backed.case_id
    LEFT JOIN points_needed AS needed
        ON
            summed."check" = needed."check"
            AND backed.connector IS NOT DISTINCT FROM needed.connector
            AND backed.phases IS NOT DISTINCT FROM needed.phases
            AND backed.supply_system IS NOT DISTINCT FROM needed.supply_system
)

SELECT
    "check",
    mode,
    count(*) AS n_done,
    count(*) FILTER (WHERE has_failed) AS n_failed
FROM outcomes
WHERE has_failed OR has_passed
GROUP BY "check", mode
ORDER BY "check", mode;
