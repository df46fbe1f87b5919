-- quality_term_end: failures in the 90 days before and after the end of the term.
--
-- Grain    one row
-- Units    days_...: unit-days under observation; n_units: units seen at the end of
--          their term or later
-- Reads    unit_lives
WITH followed AS (
    SELECT
        coalesce(greatest(0, date_diff('day', in_service_day, registered_on)), 0)
            AS entry_age,
        end_age,
        mode IS NOT NULL AS is_failed,
        date_diff('day', in_service_day, warranty_until) AS term_age
    FROM unit_lives
    WHERE
        left_out IS NULL
        AND warranty_until IS NOT NULL
        AND end_age > date_diff('day', in_service_day, warranty_until) - 90
),

beside AS (
    SELECT
        *,
        greatest(
            0, least(end_age, term_age) - greatest(entry_age, term_age - 90, 0)
        ) AS days_before,
        greatest(
            0, least(end_age, term_age + 90) - greatest(entry_age, term_age, 0)
        ) AS days_after
    FROM followed
)

SELECT
    count(*) FILTER (WHERE days_after > 0) AS n_units,
    count(*) FILTER (
        WHERE is_failed AND end_age > term_age - 90 AND end_age <= term_age
    ) AS n_before,
    CAST(coalesce(sum(days_before), 0) AS BIGINT) AS days_before,
    count(*) FILTER (
        WHERE is_failed AND end_age > term_age AND end_age <= term_age + 90
    ) AS n_after,
    CAST(coalesce(sum(days_after), 0) AS BIGINT) AS days_after
FROM beside;
