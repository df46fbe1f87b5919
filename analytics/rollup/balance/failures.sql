-- failures: no failure in lives without a case of that unit and mode.
--
-- Grain    one row: what is counted, and the count that must be zero
-- Reads    lives, cases
SELECT
    'failures in lives without their case' AS what,
    count(*) AS found,
    0 AS expected
FROM lives
LEFT JOIN (
    SELECT DISTINCT unit_no, mode FROM cases
) AS confirmed
    ON lives.unit_no = confirmed.unit_no AND lives.mode = confirmed.mode
WHERE lives.mode IS NOT NULL AND confirmed.unit_no IS NULL;
