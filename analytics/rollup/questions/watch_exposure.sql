-- watch_exposure: days in service before the first failure.
--
-- Grain    kind x month x age band
-- Units    month: months since January 1970; unit_days: unit x days
-- Reads    watched_units, watched_kinds
--
-- A unit comes into an age band on one day and leaves it on another. Only how many
-- come and go is counted, month by month; the running sum gives who is there.
--
-- Parameters: $age_edges INTEGER[] (days, ascending, from 0), $as_of DATE
WITH bands AS (
    SELECT
        CAST(place - 1 AS INTEGER) AS age_band,
        edges[place] AS from_age,
        edges[place + 1] AS to_age
    FROM
        (SELECT CAST($age_edges AS INTEGER[]) AS edges) AS listed,
        unnest(generate_series(1, len(edges) - 1)) AS series (place)
),

numbered AS (
    SELECT
        watched_kinds.kind,
        unit.in_service_day,
        unit.first_day,
        unit.stop_day
    FROM watched_units AS unit
    INNER JOIN
        watched_kinds
        ON
            unit.model IS NOT DISTINCT FROM watched_kinds.model
            AND unit.production_lot IS NOT DISTINCT FROM watched_kinds.production_lot
            AND unit.cable_supplier IS NOT DISTINCT FROM watched_kinds.cable_supplier
            AND unit.hardware_revision
            IS NOT DISTINCT FROM watched_kinds.hardware_revision
            AND unit.region IS NOT DISTINCT FROM watched_kinds.region
),

stays AS (
    SELECT
        numbered.kind,
        bands.age_band,
        greatest(
            numbered.first_day, numbered.in_service_day + bands.from_age
        ) AS first_day,
        least(
            numbered.stop_day + 1, numbered.in_service_day + bands.to_age
        ) AS day_after
    FROM numbered
    INNER JOIN
        bands
        ON
            numbered.in_service_day + bands.from_age <= numbered.stop_day
            AND numbered.in_service_day + bands.to_age > numbered.first_day
),

changes AS (
    SELECT
        kind,
        age_band,
        first_day AS day,
        1 AS change
    FROM stays
    UNION ALL
    SELECT
        kind,
        age_band,
        day_after AS day,
        -1 AS change
    FROM stays
),

by_month AS (
    SELECT
        kind,
        age_band,
        CAST(date_diff('month', DATE '1970-01-01', day) AS INTEGER) AS month,
        sum(change) AS n_more,
        sum(change * date_diff('day', day, last_day(day) + 1)) AS own_days
    FROM changes
    GROUP BY ALL
),

reached AS (
    SELECT
        kind,
        age_band,
        unnest(generate_series(min(month), max(month))) AS month
    FROM by_month
    GROUP BY kind, age_band
),

running AS (
    SELECT
        reached.kind,
        reached.age_band,
        reached.month,
        coalesce(by_month.own_days, 0) AS own_days,
        coalesce(
            sum(by_month.n_more) OVER (
                PARTITION BY reached.kind, reached.age_band
                ORDER BY reached.month
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ),
            0
        ) AS n_there,
        CAST(DATE '1970-01-01' + to_months(CAST(reached.month AS INTEGER)) AS DATE)
            AS month_day
    FROM reached
    LEFT JOIN
        by_month
        ON
            reached.kind = by_month.kind
            AND reached.age_band = by_month.age_band
            AND reached.month = by_month.month
)

SELECT
    kind,
    CAST(month AS INTEGER) AS month,
    age_band,
    CAST(
        n_there * date_diff('day', month_day, last_day(month_day) + 1) + own_days
        AS DOUBLE
    ) AS unit_days
FROM running
WHERE
    month_day <= CAST($as_of AS DATE)
    AND n_there * date_diff('day', month_day, last_day(month_day) + 1) + own_days > 0
ORDER BY kind, month, age_band;
