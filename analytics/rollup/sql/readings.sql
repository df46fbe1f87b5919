-- readings: every reading known by as_of, judged, with the limits used.
--
-- Grain    one stored reading of a case received by as_of, taken by as_of
-- Key      case_id, check, stage, point, condition, taken_at, sequence
-- Units    quantity, bound_quantity, low, high: unit_of_limit, the unit of the check;
--          value and unit as recorded
-- Reads    known_readings, limit_contexts, reading_limits
-- Feeds    label_support, check_counts; exports; the analyst's own SQL
--
-- judged is pass, fail, undefined or not_done, as advice.readings.evaluate_reading
-- gives it: a value by its limit, an outcome as recorded. Where both are recorded a
-- recorded fail stands. out_side says on which side of the limit a failed value lies.
-- assumed says what was taken for granted, or why the reading cannot be judged.
-- is_last: the reading that speaks for its stage, point and condition.
--
-- Parameters: none

CREATE TABLE readings AS
WITH bounded AS (
    SELECT
        reading.*,
        reading.quantity IS NOT NULL OR reading.bound IS NOT NULL AS is_measured,
        CASE reading.bound
            WHEN 'above'
                THEN coalesce(
                    nextafter(reading.bound_quantity, CAST('inf' AS DOUBLE)),
                    CAST('inf' AS DOUBLE)
                )
            WHEN 'below' THEN CAST('-inf' AS DOUBLE)
            ELSE reading.quantity
        END AS lowest,
        CASE reading.bound
            WHEN 'below'
                THEN coalesce(
                    nextafter(reading.bound_quantity, CAST('-inf' AS DOUBLE)),
                    CAST('-inf' AS DOUBLE)
                )
            WHEN 'above' THEN CAST('inf' AS DOUBLE)
            ELSE reading.quantity
        END AS highest,
        context.context_no
    FROM known_readings AS reading
    INNER JOIN limit_contexts AS context
        ON reading.limit_facts = context.limit_facts
),

compared AS (
    SELECT
        bounded.*,
        limits.* EXCLUDE (context_no),
        CASE
            WHEN NOT limits.is_judged THEN 'undefined'
            WHEN NOT is_measured THEN outcome
            WHEN outcome = 'fail' THEN 'fail'
            WHEN
                limits.has_window
                AND limits.pass_low <= lowest
                AND highest <= limits.pass_high
                THEN CASE WHEN highest < limits.least THEN 'undefined' ELSE 'pass' END
            WHEN
                limits.has_window
                AND lowest <= limits.pass_high
                AND limits.pass_low <= highest
                THEN 'undefined'
            WHEN
                len(
                    list_filter(
                        limits.bands,
                        lambda band: lowest <= band.high AND band.low <= highest
                    )
                ) > 0
                THEN 'undefined'
            ELSE 'fail'
        END AS judged
    FROM bounded
    INNER JOIN reading_limits AS limits ON bounded.context_no = limits.context_no
)

SELECT
    case_id,
    "check",
    stage,
    point,
    condition,
    taken_at,
    sequence,
    value,
    unit,
    quantity,
    bound,
    bound_quantity,
    outcome,
    judged,
    low,
    high,
    unit_of_limit,
    source,
    assumed,
    CASE
        WHEN judged = 'fail' AND is_measured AND highest < pass_low THEN 'low'
        WHEN judged = 'fail' AND is_measured AND lowest > pass_high THEN 'high'
    END AS out_side,
    is_last,
    point_name
FROM compared
ORDER BY case_id, taken_at, sequence, "check", stage, point, condition;
