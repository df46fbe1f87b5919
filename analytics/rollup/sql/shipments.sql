-- shipments: how many units left, where no serial may be on record.
--
-- Grain    model x production lot x region x month
-- Key      model, production_lot, region, shipped_month; lot and region may be NULL
-- Units    shipped_month: its first day; quantity: units
-- Reads    store.shipments
-- Feeds    frequencies (rates per 1 000 shipped)
--
-- Only months that began by as_of.
--
-- Parameters: $as_of DATE

CREATE TABLE shipments AS
SELECT
    model,
    production_lot,
    region,
    shipped_month,
    quantity
FROM store.shipments
WHERE shipped_month <= CAST($as_of AS DATE)
ORDER BY model, production_lot, region, shipped_month;
