-- lives: how long each unit lived until its first failure.
--
-- Grain    one unit with usable dates
-- Key      unit_no
-- Censored mode IS NULL: still working when last seen (or waiting: ends_open)
-- Units    entry_age, lower_age, end_age: whole days from in_service_day
-- Reads    unit_ends
-- Feeds    statistics.life, statistics.distributions, statistics.competing_risks
--
-- entry_age is the age on registered_on where that is later than in service, else 0.
-- lower_age is the age at which a failed unit was last known to work: its failure is
-- known only to lie in (lower_age, end_age]; NULL = the failure day itself is known.

CREATE TABLE lives AS
SELECT
    unit_no,
    model,
    production_lot,
    hardware_revision,
    firmware_version,
    cable_supplier,
    site,
    region,
    environment,
    duty,
    connector,
    in_service_day,
    in_service_estimated,
    greatest(
        0, date_diff('day', in_service_day, coalesce(registered_on, in_service_day))
    ) AS entry_age,
    CASE
        WHEN
            ends_with_event
            AND event_mode IS NOT NULL
            AND last_known_good_on IS NOT NULL
            AND event_day > in_service_day
            THEN greatest(
                0,
                date_diff('day', in_service_day, last_known_good_on),
                date_diff('day', in_service_day, registered_on)
            )
    END AS lower_age,
    date_diff('day', in_service_day, least(event_day, last_seen)) AS end_age,
    CASE WHEN ends_with_event THEN event_mode END AS mode,
    ends_with_event AND event_mode IS NULL AS ends_open,
    CASE WHEN ends_with_event THEN mechanism END AS mechanism,
    CASE WHEN ends_with_event THEN cause_category END AS cause_category,
    CASE WHEN ends_with_event THEN opened_before_arrival END AS opened_before_arrival
FROM unit_ends
WHERE reason IS NULL
ORDER BY unit_no;
