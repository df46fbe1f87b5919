-- rate_counts: cases that can be set against days in service, and those that cannot.
--
-- Grain    dimension 'mode': mode x month of receipt x reason; value NULL = open
--          other dimensions: value x age band, confirmed failures alone
-- Censored value IS NULL: open, or not recorded
-- Units    age_from: first day of age of the band; left_out: why a case is not counted:
--          unknown_serial, no_dates, failed_before_service, failed_before_registration,
--          after_term, no_service (the unit was not in service in the span); NULL =
--          counted
-- Reads    chosen_cases, units
--
-- A case counts at the age of its unit on the failure day, or at the nearest age its
-- unit lived in the span: events and days in service then lie in the same bands.
--
-- Parameters: $first_day, $last_day DATE, $seen_in_warranty BOOLEAN, $age_from,
--             $age_to INTEGER[], $not_failures VARCHAR[]
WITH spans AS (
    SELECT
        chosen.case_id,
        chosen.mode,
        chosen.received_on,
        chosen.failure_day,
        chosen.is_after_term,
        chosen.unit_no,
        unit.in_service_day,
        unit.in_service_estimated,
        unit.registered_on,
        unit.model,
        unit.production_lot,
        unit.hardware_revision,
        unit.cable_supplier,
        unit.region,
        unit.environment,
        unit.site,
        greatest(
            CASE
                WHEN unit.registered_on > unit.in_service_day
                    THEN unit.registered_on + 1
                ELSE unit.in_service_day
            END,
            CAST($first_day AS DATE)
        ) AS start_day,
        least(
            unit.retired_on,
            CASE WHEN $seen_in_warranty THEN unit.warranty_until END,
            CAST($last_day AS DATE) + 1
        ) AS stop_day
    FROM chosen_cases AS chosen
    LEFT JOIN units AS unit ON chosen.unit_no = unit.unit_no
),

judged AS (
    SELECT
        *,
        CASE
            WHEN unit_no IS NULL THEN 'unknown_serial'
            WHEN in_service_day IS NULL THEN 'no_dates'
            WHEN
                failure_day < in_service_day AND NOT in_service_estimated
                THEN 'failed_before_service'
            WHEN
                registered_on > in_service_day AND failure_day <= registered_on
                THEN 'failed_before_registration'
            WHEN $seen_in_warranty AND is_after_term THEN 'after_term'
            WHEN start_day >= stop_day THEN 'no_service'
        END AS left_out,
        date_diff(
            'day',
            in_service_day,
            greatest(start_day, least(failure_day, stop_day - 1))
        ) AS age_days
    FROM spans
),

bands AS (
    SELECT
        unnest(CAST($age_from AS INTEGER[])) AS age_from,
        unnest(CAST($age_to AS INTEGER[])) AS age_to
),

failures AS (
    SELECT judged.*, bands.age_from
    FROM judged
    INNER JOIN bands
        ON judged.age_days >= bands.age_from AND judged.age_days < bands.age_to
    WHERE
        judged.left_out IS NULL
        AND judged.mode IS NOT NULL
        AND NOT list_contains(CAST($not_failures AS VARCHAR[]), judged.mode)
)

SELECT
    'mode' AS dimension,
    mode AS value,
    CAST(date_trunc('month', received_on) AS DATE) AS month,
    left_out,
    NULL AS age_from,
    count(*) AS n_cases
FROM judged
GROUP BY ALL
UNION ALL
SELECT
    CASE
        WHEN grouping(model) = 0 THEN 'model'
        WHEN grouping(production_lot) = 0 THEN 'lot'
        WHEN grouping(hardware_revision) = 0 THEN 'hardware_revision'
        WHEN grouping(cable_supplier) = 0 THEN 'cable_supplier'
        WHEN grouping(region) = 0 THEN 'region'
        WHEN grouping(environment) = 0 THEN 'environment'
        WHEN grouping(site) = 0 THEN 'site'
        ELSE 'all'
    END AS dimension,
    coalesce(
        model, production_lot, hardware_revision, cable_supplier, region,
        environment, site
    ) AS value,
    NULL AS month,
    NULL AS left_out,
    age_from,
    count(*) AS n_cases
FROM failures
GROUP BY
    GROUPING SETS (
        (age_from),
        (model, age_from),
        (production_lot, age_from),
        (hardware_revision, age_from),
        (cable_supplier, age_from),
        (region, age_from),
        (environment, age_from),
        (site, age_from)
    )
ORDER BY ALL;
