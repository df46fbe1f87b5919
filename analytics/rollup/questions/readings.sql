-- readings: the judged readings of the cases under the filters, newest case first.
--
-- Grain    one reading
-- Reads    readings, chosen_cases
SELECT readings.* EXCLUDE (point_name)
FROM chosen_cases
INNER JOIN readings ON chosen_cases.case_id = readings.case_id
ORDER BY
    chosen_cases.received_on DESC,
    readings.case_id,
    readings.taken_at,
    readings.sequence,
    readings."check",
    readings.stage,
    readings.point,
    readings.condition;
