-- label_support: whether a reading backs the confirmed mode of a case.
--
-- Grain    one confirmed case
-- Key      case_id
-- Units    support: backed, unbacked, doubted, contradicted (advice.label_support)
-- Reads    cases, case_units, label_outcomes, label_rules, early_returns
-- Feeds    check_counts, the fault suggester, data quality
--
-- backed_by and contradicted_by name checks, `; ` between; empty where none.
--
-- Parameters: $comes_and_goes VARCHAR[]; of the part of the cases, $first_case,
--             $next_case VARCHAR, NULL = no bound

CREATE TABLE label_support AS
WITH confirmed AS (
    SELECT
        cases.case_id,
        cases.mode,
        unit.connector,
        string_split(unit.ground_fault_device, ';') AS devices,
        coalesce(
            list_has_any(
                list_transform(
                    string_split(cases.symptoms, ';'), lambda symptom: trim(symptom)
                ),
                CAST($comes_and_goes AS VARCHAR[])
            ),
            false
        ) AS comes_and_goes
    FROM cases
    INNER JOIN case_units AS unit ON cases.case_id = unit.case_id
    WHERE
        cases.mode IS NOT NULL
        AND ($first_case IS NULL OR cases.case_id >= CAST($first_case AS VARCHAR))
        AND ($next_case IS NULL OR cases.case_id < CAST($next_case AS VARCHAR))
),

single AS (
    SELECT
        outcome.case_id,
        list_sort(
            list(DISTINCT rule."check") FILTER (
                WHERE rule.role = 'backs' AND outcome.has_failed
            )
        ) AS backing,
        list_sort(
            list(DISTINCT rule."check") FILTER (
                WHERE rule.role = 'fails_out' AND outcome.has_failed
            )
        ) AS failed,
        list_sort(
            list(DISTINCT rule."check") FILTER (
                WHERE rule.role = 'passes_out' AND outcome.has_passed
            )
        ) AS passed
    FROM label_outcomes AS outcome
    INNER JOIN label_rules AS rule ON outcome.rule_no = rule.rule_no
    GROUP BY outcome.case_id
),

-- Rules that speak only together: all of a role that apply to the unit. For an unknown
-- connector those of both apply, so that less is concluded. A case without any reading
-- that counts has passed none of them.
jointly AS (
    SELECT
        confirmed.case_id,
        rule.role,
        coalesce(rule.grouped, rule."check") AS grouped,
        bool_or(coalesce(outcome.has_passed_whole, false)) AS has_passed,
        list(rule."check" ORDER BY rule.rule_no) FILTER (
            WHERE outcome.has_passed_whole
        ) AS passed
    FROM (
        SELECT confirmed.*
        FROM confirmed
        SEMI JOIN label_outcomes ON confirmed.case_id = label_outcomes.case_id
    ) AS confirmed
    INNER JOIN label_rules AS rule
        ON
            confirmed.mode = rule.mode
            AND rule.role IN ('together_out', 'protocol')
            AND coalesce(rule.connector = confirmed.connector, true)
    LEFT JOIN label_outcomes AS outcome
        ON
            confirmed.case_id = outcome.case_id
            AND rule.rule_no = outcome.rule_no
    WHERE
        rule.only_for IS NULL
        OR rule.only_for = confirmed.mode
        OR (rule.only_for = 'comes_and_goes' AND confirmed.comes_and_goes)
        OR (
            rule.only_for = 'rdc_dd_6'
            AND coalesce(list_contains(confirmed.devices, 'rdc_dd_6'), true)
        )
    GROUP BY ALL
),

together AS (
    SELECT case_id, role, flatten(list(passed)) AS passed
    FROM jointly
    GROUP BY case_id, role
    HAVING bool_and(has_passed)
),

joined AS (
    SELECT
        confirmed.case_id,
        confirmed.mode,
        coalesce(single.backing, protocol.passed) AS backing,
        protocol.passed IS NOT NULL AS is_protocol,
        single.failed,
        list_sort(
            list_distinct(
                list_concat(
                    coalesce(single.passed, CAST([] AS VARCHAR[])),
                    coalesce(ruled_out.passed, CAST([] AS VARCHAR[]))
                )
            )
        ) AS passed,
        early.next_case_id,
        early.after_days,
        early.shared
    FROM confirmed
    LEFT JOIN single ON confirmed.case_id = single.case_id
    LEFT JOIN together AS ruled_out
        ON
            confirmed.case_id = ruled_out.case_id
            AND ruled_out.role = 'together_out'
    LEFT JOIN together AS protocol
        ON confirmed.case_id = protocol.case_id AND protocol.role = 'protocol'
    LEFT JOIN early_returns AS early ON confirmed.case_id = early.case_id
),

worded AS (
    SELECT
        *,
        array_to_string(backing, '; ') AS backed_by,
        nullif(
            array_to_string(
                list_concat(coalesce(failed, CAST([] AS VARCHAR[])), passed), '; '
            ),
            ''
        ) AS contradicted_by,
        concat_ws(
            '; ',
            nullif(array_to_string(failed, ', '), '') || ' failed',
            nullif(array_to_string(passed, ', '), '') || ' passed'
        ) AS against
    FROM joined
)

SELECT
    case_id,
    mode,
    CASE
        WHEN contradicted_by IS NOT NULL THEN 'contradicted'
        WHEN next_case_id IS NOT NULL THEN 'doubted'
        WHEN backed_by IS NOT NULL THEN 'backed'
        ELSE 'unbacked'
    END AS support,
    backed_by,
    contradicted_by,
    CASE
        WHEN contradicted_by IS NOT NULL
            THEN against || ', which speaks against ' || mode
        WHEN next_case_id IS NOT NULL
            THEN
                'back after ' || after_days || ' days with ' || shared
                || ' (case ' || next_case_id || ')'
        WHEN backed_by IS NOT NULL AND is_protocol THEN 'the whole protocol passed'
        WHEN backed_by IS NOT NULL
            THEN array_to_string(backing, ', ') || ' failed, which confirms ' || mode
        ELSE 'no reading proves ' || mode || ' or speaks against it'
    END AS words
FROM worded
ORDER BY case_id;
