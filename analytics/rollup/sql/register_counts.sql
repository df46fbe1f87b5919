-- register_counts: what the register says of itself.
--
-- Grain    one row
-- Key      none: one row
-- Units    n_returned: units with a case; n_dated_returned: of these, those with a day
--          of registration; n_registered_by_return: of these, those registered on or
--          after the day of their first failure
-- Reads    unit_lives, cases
-- Feeds    data quality; every life answer, which a register of returns refuses
--
-- Kept, since every life answer asks for it and counting takes a pass over all units.
--
-- Parameters: none

CREATE TABLE register_counts AS
WITH first_days AS (
    SELECT unit_no, min(failure_day) AS first_day
    FROM cases
    WHERE unit_no IS NOT NULL
    GROUP BY unit_no
),

returned AS (
    SELECT
        count(*) AS n_returned,
        count(registered_on) AS n_dated_returned,
        count(*) FILTER (
            WHERE registered_on >= first_day
        ) AS n_registered_by_return
    FROM unit_lives
    INNER JOIN first_days ON unit_lives.unit_no = first_days.unit_no
    WHERE unit_lives.is_returned
),

registered AS (
    SELECT
        count(*) AS n_units,
        count(*) FILTER (
            WHERE shipped_on IS NULL AND in_service_day IS NULL
        ) AS n_no_dates,
        count(*) FILTER (WHERE in_service_estimated) AS n_estimated_start
    FROM unit_lives
)

SELECT
    registered.n_units,
    returned.n_returned,
    returned.n_dated_returned,
    returned.n_registered_by_return,
    registered.n_no_dates,
    registered.n_estimated_start
FROM registered
CROSS JOIN returned;
