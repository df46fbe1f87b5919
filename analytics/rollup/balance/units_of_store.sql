-- units_of_store: no unit of the store is lost or counted twice.
--
-- Grain    one row: what is counted, and the two counts that must agree
-- Reads    units, store.units
SELECT
    'units, against units in the store' AS what,
    (SELECT count(*) FROM units) AS found,
    (SELECT count(*) FROM store.units) AS expected;
