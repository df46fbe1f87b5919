-- lives_by_serial: every life with its serial, for following one unit by hand.
--
-- Grain    one unit with usable dates
-- Reads    lives, units
SELECT
    units.serial,
    lives.entry_age,
    lives.lower_age,
    lives.end_age,
    lives.mode,
    lives.ends_open,
    lives.in_service_estimated
FROM lives
INNER JOIN units ON lives.unit_no = units.unit_no
ORDER BY units.serial;
