-- unit_ends: how each unit's observation begins and ends, or why it has none.
--
-- Grain    one unit
-- Key      unit_no
-- Censored mode IS NULL: no failure of the unit confirmed by the observation end
-- Units    dates are calendar days
-- Reads    units, cases
-- Feeds    lives, left_out_units (dropped after both are made)
--
-- The first event of a unit is its earliest failure, or the earliest open case, which
-- is censored on the failure day it would have. Returns that are no failures of the
-- unit change nothing. last_seen is the earliest of the observation end, retirement
-- and, where failures are only seen in warranty, the end of the term.
--
-- A unit registered after it went into service is at risk from the day after
-- registered_on: a failure on or before that day could not enter the estimate.
--
-- Parameters: $observation_end DATE, $not_failures VARCHAR[], $seen_in_warranty BOOLEAN

CREATE TABLE unit_ends AS
WITH ordered AS (
    SELECT
        unit_no,
        failure_day,
        last_known_good_on,
        mode,
        mechanism,
        cause_category,
        opened_before_arrival,
        row_number() OVER (
            PARTITION BY unit_no
            ORDER BY failure_day, mode IS NULL, received_on, case_id
        ) AS event_no
    FROM cases
    WHERE
        unit_no IS NOT NULL
        AND (
            mode IS NULL
            OR NOT list_contains(CAST($not_failures AS VARCHAR[]), mode)
        )
),

followed AS (
    SELECT
        units.*,
        least(
            CAST($observation_end AS DATE),
            units.retired_on,
            CASE WHEN $seen_in_warranty THEN units.warranty_until END
        ) AS last_seen,
        CASE
            WHEN
                units.in_service_estimated
                AND event.failure_day < units.in_service_day
                THEN units.in_service_day
            ELSE event.failure_day
        END AS event_day,
        event.failure_day AS recorded_failure_day,
        event.last_known_good_on,
        event.mode AS event_mode,
        event.mechanism,
        event.cause_category,
        event.opened_before_arrival
    FROM units
    LEFT JOIN ordered AS event
        ON units.unit_no = event.unit_no AND event.event_no = 1
)

SELECT
    *,
    CASE
        WHEN in_service_day IS NULL THEN 'no_dates'
        WHEN event_day < in_service_day THEN 'failed_before_service'
        WHEN
            registered_on > in_service_day AND event_day <= registered_on
            THEN 'failed_before_registration'
        WHEN in_service_day > last_seen THEN 'not_in_service_by_end'
        WHEN registered_on > last_seen THEN 'registered_after_end'
    END AS reason,
    coalesce(event_day <= last_seen, false) AS ends_with_event
FROM followed;
