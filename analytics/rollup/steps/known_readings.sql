-- known_readings: every reading known by as_of, with the facts its limit depends on.
--
-- Grain    one reading as it stands in the store
-- Key      case_id, check, stage, point, condition, taken_at, sequence
-- Reads    store.readings, cases, case_units, fields_used
-- Feeds    readings
--
-- point_name is one spelling of a point; the ends of a pair have no order. is_last: no
-- later reading of that stage and condition speaks for the point; an outcome without a
-- point speaks for all points, and where any one point is enough (not in
-- $checks_with_points) every later reading speaks for a reading without a point.
--
-- limit_facts holds only what the limit of the check depends on. still_ohm is the last
-- earth reading at rest of the same stage and point; other_pole_mohm the best of the
-- other poles of the stage.
--
-- Parameters: $as_of DATE, $checks_with_points VARCHAR[]; of the part of the cases,
--             $first_case, $next_case VARCHAR, NULL = no bound

CREATE OR REPLACE TEMP TABLE known_readings AS
WITH known AS (
    SELECT
        reading.* EXCLUDE (batch, row_no, instrument, ambient_c, minutes),
        nullif(
            array_to_string(
                list_sort(
                    list_transform(
                        string_split(lower(reading.point), '-'),
                        lambda part: trim(part)
                    )
                ),
                '-'
            ),
            ''
        ) AS point_name
    FROM store.readings AS reading
    INNER JOIN cases ON reading.case_id = cases.case_id
    WHERE
        CAST(reading.taken_at AS DATE) <= $as_of
        AND ($first_case IS NULL OR reading.case_id >= CAST($first_case AS VARCHAR))
        AND ($next_case IS NULL OR reading.case_id < CAST($next_case AS VARCHAR))
),

ordered AS (
    SELECT
        *,
        row_number() OVER (
            PARTITION BY case_id, "check", stage, condition
            ORDER BY taken_at, sequence, point
        ) AS place
    FROM known
),

placed AS (
    SELECT
        *,
        max(place) OVER (
            PARTITION BY case_id, "check", stage, condition, point_name
        ) AS last_of_point,
        max(CASE WHEN point_name IS NULL AND value IS NULL THEN place END) OVER (
            PARTITION BY case_id, "check", stage, condition
        ) AS last_for_all,
        max(place) OVER (
            PARTITION BY case_id, "check", stage, condition
        ) AS last_of_any
    FROM ordered
),

lasting AS (
    SELECT
        * EXCLUDE (place, last_of_point, last_for_all, last_of_any),
        place = last_of_point
        AND place >= coalesce(last_for_all, 0)
        AND (
            point_name IS NOT NULL
            OR list_contains(CAST($checks_with_points AS VARCHAR[]), "check")
            OR place = last_of_any
        ) AS is_last
    FROM placed
),

still AS (
    SELECT case_id, stage, point_name, any_value(quantity) AS still_ohm
    FROM lasting
    WHERE
        "check" = 'earth_continuity'
        AND condition = 'still'
        AND is_last
        AND quantity >= 0
    GROUP BY case_id, stage, point_name
),

pole AS (
    SELECT case_id, stage, point_name, max(quantity) AS pole_mohm
    FROM lasting
    WHERE
        "check" = 'path_resistance'
        AND is_last
        AND point_name IS NOT NULL
        AND quantity IS NOT NULL
    GROUP BY case_id, stage, point_name
),

best_other AS (
    SELECT
        pole.case_id,
        pole.stage,
        pole.point_name,
        min(other.pole_mohm) AS other_pole_mohm
    FROM pole
    INNER JOIN pole AS other
        ON
            pole.case_id = other.case_id
            AND pole.stage = other.stage
            AND pole.point_name <> other.point_name
    GROUP BY pole.case_id, pole.stage, pole.point_name
)

SELECT
    reading.*,
    {
        'check': reading."check",
        'connector': CASE WHEN used.connector THEN unit.connector END,
        'phases': CASE WHEN used.phases THEN unit.phases END,
        'supply_system': CASE WHEN used.supply_system THEN unit.supply_system END,
        'ground_fault_device':
        CASE WHEN used.ground_fault_device THEN unit.ground_fault_device END,
        'point': CASE WHEN used.point THEN reading.point END,
        'condition': CASE WHEN used.condition THEN reading.condition END,
        'cable_length_m': CASE WHEN used.cable_length_m THEN unit.cable_length_m END,
        'conductor_area_mm2':
        CASE WHEN used.conductor_area_mm2 THEN unit.conductor_area_mm2 END,
        'earth_area_mm2': CASE WHEN used.earth_area_mm2 THEN unit.earth_area_mm2 END,
        'rated_current_a':
        CASE WHEN used.rated_current_a THEN unit.rated_current_a END,
        'control_supply_v':
        CASE WHEN used.control_supply_v THEN unit.control_supply_v END,
        'coil_ohm': CASE WHEN used.coil_ohm THEN unit.coil_ohm END,
        'contactor_open_ohm':
        CASE WHEN used.contactor_open_ohm THEN unit.contactor_open_ohm END,
        'still_ohm':
        CASE
            WHEN used.still_ohm AND reading.condition = 'flexed'
                THEN still.still_ohm
        END,
        'other_pole_mohm':
        CASE WHEN used.other_pole_mohm THEN best_other.other_pole_mohm END
    } AS limit_facts
FROM lasting AS reading
INNER JOIN fields_used AS used ON reading."check" = used."check"
INNER JOIN case_units AS unit ON reading.case_id = unit.case_id
LEFT JOIN still
    ON
        reading.case_id = still.case_id
        AND reading.stage = still.stage
        AND reading.point_name IS NOT DISTINCT FROM still.point_name
LEFT JOIN best_other
    ON
        reading.case_id = best_other.case_id
        AND reading.stage = best_other.stage
        AND reading.point_name = best_other.point_name;
