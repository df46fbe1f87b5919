-- label_outcomes: what the readings of a confirmed case say, rule by rule.
--
-- Grain    one confirmed case x rule of its mode with a reading that counts
-- Key      case_id, rule_no
-- Reads    readings, cases, case_units, label_rules, points_needed
-- Feeds    label_support
--
-- has_failed and has_passed as the rule counts; has_passed_whole adds that every point
-- needed is recorded and, where the rule asks for it, one of the readings flexed.
-- A value that failed on the other side than the rule means counts as passed.
--
-- Parameters: $checks_with_points VARCHAR[]; of the part of the cases, $first_case,
--             $next_case VARCHAR, NULL = no bound

CREATE OR REPLACE TEMP TABLE label_outcomes AS
WITH confirmed AS (
    SELECT
        cases.case_id,
        cases.mode,
        unit.connector,
        unit.phases,
        unit.supply_system
    FROM cases
    INNER JOIN case_units AS unit ON cases.case_id = unit.case_id
    WHERE
        cases.mode IS NOT NULL
        AND ($first_case IS NULL OR cases.case_id >= CAST($first_case AS VARCHAR))
        AND ($next_case IS NULL OR cases.case_id < CAST($next_case AS VARCHAR))
),

repaired AS (
    SELECT case_id, min(CAST(taken_at AS DATE)) AS repaired_on
    FROM readings
    WHERE
        stage = 'after_repair'
        AND ($first_case IS NULL OR case_id >= CAST($first_case AS VARCHAR))
        AND ($next_case IS NULL OR case_id < CAST($next_case AS VARCHAR))
    GROUP BY case_id
),

counted AS (
    SELECT
        reading.case_id,
        rule.rule_no,
        reading.point_name,
        reading.condition,
        reading.value IS NOT NULL AS has_value,
        len(rule.points) > 0
        OR list_contains(CAST($checks_with_points AS VARCHAR[]), rule."check")
            AS needs_points,
        rule.counts = 'gone' AS must_go,
        reading.is_last,
        {'at': reading.taken_at, 'sequence': reading.sequence} AS moment,
        CASE
            WHEN reading.judged = 'fail' AND reading.out_side <> rule.side THEN 'pass'
            ELSE reading.judged
        END AS judged
    FROM readings AS reading
    INNER JOIN confirmed ON reading.case_id = confirmed.case_id
    INNER JOIN label_rules AS rule
        ON confirmed.mode = rule.mode AND reading."check" = rule."check"
    LEFT JOIN repaired ON reading.case_id = repaired.case_id
    WHERE
        ($first_case IS NULL OR reading.case_id >= CAST($first_case AS VARCHAR))
        AND ($next_case IS NULL OR reading.case_id < CAST($next_case AS VARCHAR))
        AND list_contains(rule.stages, reading.stage)
        AND (
            len(rule.points) = 0
            OR reading.point_name IS NULL
            OR list_contains(rule.points, reading.point_name)
        )
        AND (
            repaired.repaired_on IS NULL
            OR CAST(reading.taken_at AS DATE) <= repaired.repaired_on
        )
),

summed AS (
    SELECT
        case_id,
        rule_no,
        count(*) FILTER (WHERE is_last AND judged = 'fail') AS n_failed,
        count(*) FILTER (WHERE judged = 'fail') AS n_ever_failed,
        count(*) FILTER (WHERE is_last AND judged = 'pass') AS n_passed,
        count(*) FILTER (
            WHERE is_last AND judged IN ('undefined', 'not_done')
        ) AS n_open,
        count(*) FILTER (
            WHERE is_last AND judged = 'pass' AND condition = 'flexed'
        ) AS n_flexed,
        count(*) FILTER (
            WHERE is_last AND point_name IS NULL AND NOT has_value
        ) AS n_for_all,
        count(*) FILTER (
            WHERE is_last AND point_name IS NULL AND has_value
        ) AS n_unnamed,
        coalesce(
            list(DISTINCT point_name) FILTER (
                WHERE is_last AND needs_points AND point_name IS NOT NULL
            ),
            CAST([] AS VARCHAR[])
        ) AS points,
        max(moment) FILTER (WHERE must_go AND judged = 'fail') AS last_fail,
        max(moment) FILTER (WHERE must_go AND judged = 'pass') AS last_pass
    FROM counted
    GROUP BY case_id, rule_no
),

needing AS (
    SELECT
        summed.*,
        rule.counts,
        rule.flexed,
        rule.needs_pass,
        CASE
            WHEN len(rule.points) > 0
                THEN list_transform(rule.points, lambda point: [point])
            ELSE coalesce(needed.needs, CAST([] AS VARCHAR[][]))
        END AS needs
    FROM summed
    INNER JOIN label_rules AS rule ON summed.rule_no = rule.rule_no
    INNER JOIN confirmed ON summed.case_id = confirmed.case_id
    LEFT JOIN points_needed AS needed
        ON
            rule."check" = needed."check"
            AND confirmed.connector IS NOT DISTINCT FROM needed.connector
            AND confirmed.phases IS NOT DISTINCT FROM needed.phases
            AND confirmed.supply_system IS NOT DISTINCT FROM needed.supply_system
),

judged AS (
    SELECT
        *,
        CASE counts
            WHEN 'last' THEN n_failed > 0
            WHEN 'ever' THEN n_ever_failed > 0
            ELSE coalesce(last_fail < last_pass, false)
        END AS has_failed,
        n_passed > 0
        AND n_open = 0
        AND CASE counts WHEN 'ever' THEN n_ever_failed ELSE n_failed END = 0
            AS has_passed,
        len(
            list_filter(needs, lambda need: NOT list_has_any(need, points))
        ) AS n_missing
    FROM needing
)

SELECT
    case_id,
    rule_no,
    has_failed,
    has_passed,
    CASE
        WHEN NOT needs_pass THEN NOT has_failed
        ELSE
            has_passed
            AND (n_flexed > 0 OR NOT flexed)
            AND (n_for_all > 0 OR n_missing <= least(n_unnamed, 1))
    END AS has_passed_whole
FROM judged;
