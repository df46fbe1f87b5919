-- shipped_units: units shipped by model and lot, beside those on record.
--
-- Grain    model x production lot of the shipments
-- Censored lot IS NULL: the shipments name no lot; then the register is asked for the
--          whole model
-- Units    n_shipped: units of months that began by $last_day; n_registered: units of
--          the register; n_returned: of these, those with a case; months with
--          shipments, from the first to the last
-- Reads    shipments, units
--
-- Parameters: $model, $lot, $region VARCHAR[], NULL = no filter; $last_day DATE
WITH shipped AS (
    SELECT
        model,
        production_lot AS lot,
        CAST(sum(quantity) AS BIGINT) AS n_shipped,
        min(shipped_month) AS first_month,
        max(shipped_month) AS last_month,
        count(DISTINCT shipped_month) AS n_months
    FROM shipments
    WHERE
        shipped_month <= CAST($last_day AS DATE)
        AND ($model IS NULL OR list_contains(CAST($model AS VARCHAR[]), model))
        AND ($lot IS NULL OR list_contains(CAST($lot AS VARCHAR[]), production_lot))
        AND ($region IS NULL OR list_contains(CAST($region AS VARCHAR[]), region))
    GROUP BY model, production_lot
),

registered AS (
    SELECT
        model,
        production_lot AS lot,
        count(*) AS n_registered,
        count(*) FILTER (WHERE is_returned) AS n_returned
    FROM units
    WHERE $region IS NULL OR list_contains(CAST($region AS VARCHAR[]), region)
    GROUP BY GROUPING SETS ((model, production_lot), (model))
    HAVING production_lot IS NOT NULL OR grouping(production_lot) = 1
)

SELECT
    shipped.*,
    coalesce(registered.n_registered, 0) AS n_registered,
    coalesce(registered.n_returned, 0) AS n_returned
FROM shipped
LEFT JOIN registered
    ON
        shipped.model = registered.model
        AND shipped.lot IS NOT DISTINCT FROM registered.lot
ORDER BY shipped.model, shipped.lot;
