-- service_by_age: days in service by age band, for the fleet and for each group.
--
-- Grain    dimension x value x age band; dimension 'all' is the fleet
-- Censored value IS NULL: not recorded
-- Units    unit_days: days in service between $first_day and $last_day, both included;
--          n_units: units that entered the span in this band, so that the sum over
--          bands counts each once
-- Reads    chosen_units
--
-- Who is in service when: as in service_days.
--
-- Parameters: $first_day, $last_day DATE, $seen_in_warranty BOOLEAN, $age_from,
--             $age_to INTEGER[] (days; a band holds ages from <= age < to)
WITH spans AS (
    SELECT
        *,
        date_diff(
            'day',
            in_service_day,
            greatest(
                CASE
                    WHEN registered_on > in_service_day THEN registered_on + 1
                    ELSE in_service_day
                END,
                CAST($first_day AS DATE)
            )
        ) AS start_age,
        date_diff(
            'day',
            in_service_day,
            least(
                retired_on,
                CASE WHEN $seen_in_warranty THEN warranty_until END,
                CAST($last_day AS DATE) + 1
            )
        ) AS stop_age
    FROM chosen_units
    WHERE in_service_day IS NOT NULL
),

bands AS (
    SELECT
        unnest(CAST($age_from AS INTEGER[])) AS age_from,
        unnest(CAST($age_to AS INTEGER[])) AS age_to
),

lived AS (
    SELECT
        spans.model,
        spans.production_lot,
        spans.hardware_revision,
        spans.cable_supplier,
        spans.region,
        spans.environment,
        spans.site,
        bands.age_from,
        least(spans.stop_age, bands.age_to)
        - greatest(spans.start_age, bands.age_from) AS unit_days,
        spans.start_age >= bands.age_from AS is_first
    FROM spans
    INNER JOIN bands
        ON spans.start_age < bands.age_to AND spans.stop_age > bands.age_from
    WHERE spans.start_age < spans.stop_age
)

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
    age_from,
    CAST(sum(unit_days) AS BIGINT) AS unit_days,
    count(*) FILTER (WHERE is_first) AS n_units
FROM lived
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
ORDER BY dimension, value, age_from;
