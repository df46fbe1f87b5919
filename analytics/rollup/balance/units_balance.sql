-- units_balance: every unit is in lives or left out with a reason.
--
-- Grain    one row: what is counted, and the two counts that must agree
-- Reads    units, lives, left_out_units
SELECT
    'units in lives and left out, against units' AS what,
    (SELECT count(*) FROM lives) + (SELECT count(*) FROM left_out_units) AS found,
    (SELECT count(*) FROM units) AS expected;
