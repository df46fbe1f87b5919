-- left_out_serials: the units that tell nothing about time to failure, by name.
--
-- Grain    one unit left out of lives
-- Reads    left_out_units
SELECT serial, reason FROM left_out_units ORDER BY serial;
