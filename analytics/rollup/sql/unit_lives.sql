-- unit_lives: every unit of the register, flat, with its life or why it has none.
--
-- Grain    one unit
-- Key      unit_no; serial is unique too
-- Censored mode IS NULL: still working when last seen (or waiting: ends_open)
-- Units    dates are calendar days; entry_age (when it came into view), lower_age,
--          end_age: whole days from in_service_day;
--          left_out: no_dates, failed_before_service, failed_before_registration,
--          not_in_service_by_end, registered_after_end; NULL = in the lives
-- Reads    register, cases
-- Feeds    units, lives, left_out_units; every question about units or lives
--
-- One table for all that is known of a unit, so that nothing is kept twice and no
-- question has to bring two large tables together.
--
-- The first event of a unit is its earliest failure, or the earliest open case, which
-- is censored on the failure day it would have. Returns that are no failures of the
-- unit change nothing. last_seen is the earliest of the observation end, retirement
-- and, where failures are only seen in warranty, the end of the term.
--
-- A unit registered after it went into service is at risk from the day after
-- registered_on: a failure on or before that day could not enter the estimate.
--
-- is_returned: a case of the unit was received by the day, whatever came of it. It
-- spares most units a search for their cases.
--
-- lower_age is the age at which a failed unit was last known to work: its failure is
-- known only to lie in (lower_age, end_age]; NULL = the failure day itself is known.
--
-- Parameters: $observation_end DATE, $not_failures VARCHAR[], $seen_in_warranty BOOLEAN

CREATE TABLE unit_lives AS
WITH returned AS (
    SELECT
        *,
        mode IS NULL
        OR NOT list_contains(CAST($not_failures AS VARCHAR[]), mode) AS is_event
    FROM cases
    WHERE unit_no IS NOT NULL
),

ordered AS (
    SELECT
        unit_no,
        is_event,
        failure_day,
        last_known_good_on,
        mode,
        mechanism,
        cause_category,
        opened_before_arrival,
        row_number() OVER (
            PARTITION BY unit_no
            ORDER BY NOT is_event, failure_day, mode IS NULL, received_on, case_id
        ) AS event_no
    FROM returned
),

-- One row for each unit with a case, empty where none of them is an event.
first_events AS (
    SELECT
        unit_no,
        CASE WHEN is_event THEN failure_day END AS failure_day,
        CASE WHEN is_event THEN last_known_good_on END AS last_known_good_on,
        CASE WHEN is_event THEN mode END AS mode,
        CASE WHEN is_event THEN mechanism END AS mechanism,
        CASE WHEN is_event THEN cause_category END AS cause_category,
        CASE WHEN is_event THEN opened_before_arrival END AS opened_before_arrival
    FROM ordered
    WHERE event_no = 1
),

followed AS (
    SELECT
        register.*,
        least(
            CAST($observation_end AS DATE),
            register.retired_on,
            CASE WHEN $seen_in_warranty THEN register.warranty_until END
        ) AS last_seen,
        CASE
            WHEN
                register.in_service_estimated
                AND event.failure_day < register.in_service_day
                THEN register.in_service_day
            ELSE event.failure_day
        END AS event_day,
        event.unit_no IS NOT NULL AS is_returned,
        event.failure_day AS recorded_failure_day,
        event.last_known_good_on,
        event.mode AS event_mode,
        event.mechanism,
        event.cause_category,
        event.opened_before_arrival
    FROM register
    LEFT JOIN first_events AS event ON register.unit_no = event.unit_no
),

judged AS (
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
        END AS left_out
    FROM followed
),

ended AS (
    SELECT
        *,
        left_out IS NULL AND coalesce(event_day <= last_seen, false) AS has_event
    FROM judged
)

SELECT
    unit_no,
    serial,
    model,
    hardware_revision,
    firmware_version,
    production_lot,
    cable_supplier,
    manufactured_on,
    shipped_on,
    in_service_day,
    in_service_estimated,
    registered_on,
    retired_on,
    site,
    region,
    environment,
    duty,
    connector,
    warranty_until,
    is_returned,
    left_out,
    CASE WHEN left_out IS NOT NULL THEN recorded_failure_day END
        AS recorded_failure_day,
    CASE
        WHEN
            has_event
            AND event_mode IS NOT NULL
            AND last_known_good_on IS NOT NULL
            AND event_day > in_service_day
            THEN CAST(
                greatest(
                    0,
                    date_diff('day', in_service_day, last_known_good_on),
                    date_diff('day', in_service_day, registered_on)
                ) AS INTEGER
            )
    END AS lower_age,
    CASE
        WHEN left_out IS NULL
            THEN CAST(
                coalesce(
                    greatest(0, date_diff('day', in_service_day, registered_on)), 0
                ) AS INTEGER
            )
    END AS entry_age,
    CASE
        WHEN left_out IS NULL
            THEN CAST(
                date_diff('day', in_service_day, least(event_day, last_seen))
                AS INTEGER
            )
    END AS end_age,
    has_event AND event_mode IS NULL AS ends_open,
    CASE WHEN has_event THEN event_mode END AS mode,
    CASE WHEN has_event THEN mechanism END AS mechanism,
    CASE WHEN has_event THEN cause_category END AS cause_category,
    CASE WHEN has_event THEN opened_before_arrival END AS opened_before_arrival
FROM ended;
