-- lives: how long each unit lived until its first failure.
--
-- Grain    one unit with usable dates
-- Key      unit_no
-- Censored mode IS NULL: still working when last seen (or waiting: ends_open)
-- Units    entry_age, lower_age, end_age: whole days from in_service_day
-- Reads    unit_lives
-- Feeds    statistics.life, statistics.distributions, statistics.competing_risks
--
-- entry_age is the age on registered_on where that is later than in service, else 0.
-- lower_age is the age at which a failed unit was last known to work: its failure is
-- known only to lie in (lower_age, end_age]; NULL = the failure day itself is known.
--
-- Parameters: none

CREATE VIEW lives AS
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
    entry_age,
    lower_age,
    end_age,
    mode,
    ends_open,
    mechanism,
    cause_category,
    opened_before_arrival
FROM unit_lives
WHERE end_age IS NOT NULL;
