-- critical_readings: what the checks that point to a critical mode have read.
--
-- Grain    one reading of one of the checks, of a case that a failed one makes critical,
--          in the order taken
-- Reads    chosen_cases, readings
--
-- Parameters: $critical_modes, $critical_checks VARCHAR[]; $explained VARCHAR[], each
--             a mode and a check that it explains, a blank between
SELECT
    readings.case_id,
    readings."check",
    readings.stage,
    readings.point,
    readings.condition,
    readings.taken_at,
    readings.value,
    readings.unit,
    readings.judged,
    readings.low,
    readings.high,
    readings.unit_of_limit,
    readings.source,
    readings.out_side
FROM readings
INNER JOIN (
    SELECT DISTINCT failed.case_id
    FROM readings AS failed
    INNER JOIN chosen_cases ON failed.case_id = chosen_cases.case_id
    WHERE
        failed.judged = 'fail'
        AND failed.is_last
        AND list_contains(CAST($critical_checks AS VARCHAR[]), failed."check")
        AND NOT coalesce(
            list_contains(CAST($critical_modes AS VARCHAR[]), chosen_cases.mode)
            OR list_contains(
                CAST($explained AS VARCHAR[]),
                chosen_cases.mode || ' ' || failed."check"
            ),
            false
        )
) AS pointing ON readings.case_id = pointing.case_id
WHERE list_contains(CAST($critical_checks AS VARCHAR[]), readings."check")
ORDER BY
    readings.case_id,
    readings.taken_at,
    -- Days without a time: the bench works in this order.
    list_position(
        ['on_site', 'intake', 'diagnosis', 'after_repair'], readings.stage
    ),
    readings.sequence,
    readings."check",
    readings.point,
    readings.condition;
