-- parts_of_cases: where the cases are cut into parts that fit in memory.
--
-- Grain    one part: its first case
-- Reads    cases, store.reading_versions
--
-- Parameters: $readings_at_once BIGINT
WITH places AS (
    SELECT case_id, row_number() OVER (ORDER BY case_id) - 1 AS place
    FROM cases
),

part AS (
    SELECT
        greatest(
            1,
            (SELECT count(*) FROM cases) * CAST($readings_at_once AS BIGINT)
            // greatest(1, (SELECT count(*) FROM store.reading_versions))
        ) AS n_cases
)

SELECT places.case_id
FROM places
CROSS JOIN part
WHERE places.place % part.n_cases = 0
ORDER BY places.case_id;
