-- superseded_units: the versions of units that a newer batch has replaced.
--
-- Grain    one version that is not the newest of its unit
-- Key      unit_no
-- Reads    store.unit_versions
-- Feeds    register
--
-- Parameters: none

CREATE TEMP TABLE superseded_units AS
SELECT unit_no
FROM (SELECT rowid AS unit_no, serial, batch FROM store.unit_versions) AS version
QUALIFY row_number() OVER (PARTITION BY serial ORDER BY batch DESC) > 1;
