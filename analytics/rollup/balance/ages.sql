-- ages: no unit kept has a negative age or ends before it is seen.
--
-- Grain    one row: what is counted, and the count that must be zero
-- Reads    lives
SELECT
    'units with an impossible age' AS what,
    count(*) AS found,
    0 AS expected
FROM lives
WHERE
    end_age < 0
    OR entry_age > end_age
    OR lower_age >= end_age
    OR end_age IS NULL;
