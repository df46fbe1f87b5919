-- quality_register: what the register says of itself.
--
-- Grain    one row
-- Units    n_returned: units with a case; n_dated_returned: of these, those with a day
--          of registration; n_registered_by_return: of these, those registered on or
--          after the day of their first failure
-- Reads    units, cases
WITH returned AS (
    SELECT unit_no, min(failure_day) AS first_day
    FROM cases
    WHERE unit_no IS NOT NULL
    GROUP BY unit_no
)

SELECT
    count(*) AS n_units,
    count(returned.unit_no) AS n_returned,
    count(units.registered_on) FILTER (
        WHERE returned.unit_no IS NOT NULL
    ) AS n_dated_returned,
    count(*) FILTER (
        WHERE units.registered_on >= returned.first_day
    ) AS n_registered_by_return,
    count(*) FILTER (
        WHERE units.shipped_on IS NULL AND units.in_service_on IS NULL
    ) AS n_no_dates,
    count(*) FILTER (WHERE units.in_service_estimated) AS n_estimated_start
FROM units
LEFT JOIN returned ON units.unit_no = returned.unit_no;
