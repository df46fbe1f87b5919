-- readings_of_case: the readings of one case as judged when the figures were published.
--
-- Grain    one reading
-- Units    low, high: unit_of_limit
-- Reads    readings
--
-- Parameters: $case_id VARCHAR
SELECT
    "check",
    stage,
    point,
    condition,
    taken_at,
    sequence,
    judged,
    low,
    high,
    unit_of_limit,
    source,
    assumed,
    out_side
FROM readings
WHERE case_id = $case_id;
