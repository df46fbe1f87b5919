-- watched_units: which days each unit could have failed for the first time.
--
-- Grain    one unit in service by as_of
-- Key      unit_no
-- Censored mode IS NULL: no confirmed failure by stop_day (case_id NULL too)
-- Units    first_day, stop_day: calendar days, both included
-- Reads    unit_lives, cases
-- Feeds    watched_kinds, watch_exposure, watch_failures
--
-- As in unit_lives, but up to as_of and not to the observation end: the watch lets the
-- newest months in and counts how complete they are. An open case ends the days of its
-- unit on the failure day it would have.
--
-- Parameters: $as_of DATE, $not_failures VARCHAR[], $seen_in_warranty BOOLEAN

CREATE TEMP TABLE watched_units AS
WITH events AS (
    SELECT
        unit_no,
        case_id,
        mode,
        failure_day
    FROM cases
    WHERE
        unit_no IS NOT NULL
        AND (
            mode IS NULL
            OR NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
        )
    QUALIFY
        row_number() OVER (
            PARTITION BY unit_no
            ORDER BY failure_day, mode IS NULL, received_on, case_id
        ) = 1
),

followed AS (
    SELECT
        unit.unit_no,
        unit.model,
        unit.production_lot,
        unit.cable_supplier,
        unit.hardware_revision,
        unit.region,
        unit.site,
        unit.in_service_day,
        event.case_id,
        event.mode,
        CAST(
            CASE
                WHEN unit.registered_on > unit.in_service_day
                    THEN unit.registered_on + 1
                ELSE unit.in_service_day
            END AS DATE
        ) AS first_day,
        CASE
            WHEN
                unit.in_service_estimated
                AND event.failure_day < unit.in_service_day
                THEN unit.in_service_day
            ELSE event.failure_day
        END AS event_day,
        least(
            CAST($as_of AS DATE),
            unit.retired_on,
            CASE WHEN $seen_in_warranty THEN unit.warranty_until END
        ) AS last_seen
    FROM unit_lives AS unit
    LEFT JOIN events AS event ON unit.unit_no = event.unit_no
    WHERE
        unit.in_service_day IS NOT NULL
        AND coalesce(
            unit.left_out NOT IN (
                'no_dates', 'failed_before_service', 'failed_before_registration'
            ),
            true
        )
)

SELECT
    unit_no,
    model,
    production_lot,
    cable_supplier,
    hardware_revision,
    region,
    site,
    in_service_day,
    first_day,
    CAST(least(event_day, last_seen) AS DATE) AS stop_day,
    CASE WHEN event_day <= last_seen THEN mode END AS mode,
    CASE WHEN event_day <= last_seen AND mode IS NOT NULL THEN case_id END AS case_id
FROM followed
WHERE first_day <= least(event_day, last_seen);
