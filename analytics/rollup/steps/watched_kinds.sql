-- watched_kinds: units that share all that the watch tells groups apart by.
--
-- Grain    model x lot x cable supplier x hardware revision x region
-- Key      kind
-- Units    kind: from 0, without gaps; n_units in service by as_of
-- Reads    watched_units
-- Feeds    watch_exposure, watch_failures
--
-- Parameters: none

CREATE TEMP TABLE watched_kinds AS
SELECT
    CAST(
        row_number() OVER (
            ORDER BY
                model,
                production_lot,
                cable_supplier,
                hardware_revision,
                region
        )
        - 1 AS INTEGER
    ) AS kind,
    *
FROM (
    SELECT
        model,
        production_lot,
        cable_supplier,
        hardware_revision,
        region,
        count(*) AS n_units
    FROM watched_units
    GROUP BY ALL
) AS kinds;
