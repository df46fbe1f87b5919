-- critical_cases: cases under the filters that may hurt someone, newest first.
--
-- Grain    one case, confirmed as a critical mode, or with a failed reading of one of
--          the checks that no later one of its stage, point and condition took back,
--          and that its confirmed mode does not explain
-- Reads    chosen_cases, readings
--
-- Parameters: $critical_modes, $critical_checks VARCHAR[]; $explained VARCHAR[], each
--             a mode and a check that it explains, a blank between
SELECT
    case_id,
    serial,
    model,
    production_lot,
    site,
    region,
    connector,
    received_on,
    mode,
    coalesce(confirmed_on, closed_on, received_on) AS mode_known_on,
    closed_on,
    disposition
FROM chosen_cases
WHERE
    coalesce(list_contains(CAST($critical_modes AS VARCHAR[]), mode), false)
    OR case_id IN (
        SELECT readings.case_id
        FROM readings
        INNER JOIN chosen_cases AS own ON readings.case_id = own.case_id
        WHERE
            readings.judged = 'fail'
            AND readings.is_last
            AND list_contains(
                CAST($critical_checks AS VARCHAR[]), readings."check"
            )
            AND NOT coalesce(
                list_contains(
                    CAST($explained AS VARCHAR[]), own.mode || ' ' || readings."check"
                ),
                false
            )
    )
ORDER BY received_on DESC, case_id;
