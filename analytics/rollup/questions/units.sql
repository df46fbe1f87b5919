-- units: the units under the filters, for export.
--
-- Grain    one unit
-- Reads    chosen_units
SELECT * EXCLUDE (unit_no, is_returned)
FROM chosen_units
ORDER BY serial;
