-- readings_of_store: no reading known by as_of is lost or counted twice.
--
-- Grain    one row: what is counted, and the two counts that must agree
-- Reads    readings, store.readings, store.repairs
--
-- Parameters: $as_of DATE
SELECT
    'readings, against readings of known cases taken by the day' AS what,
    (SELECT count(*) FROM readings) AS found,
    (
        SELECT count(*)
        FROM store.readings AS reading
        WHERE
            CAST(reading.taken_at AS DATE) <= $as_of
            AND reading.case_id IN (
                SELECT case_id FROM store.repairs WHERE received_on <= $as_of
            )
    ) AS expected;
