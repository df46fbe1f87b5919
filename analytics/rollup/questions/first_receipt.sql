-- first_receipt: the day of the first return on record, and of the last.
--
-- Grain    one row; NULL without a return
-- Reads    cases
SELECT
    min(received_on) AS first_day,
    max(received_on) AS last_day
FROM cases;
