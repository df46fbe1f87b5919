-- repairs_left_out: confirmed cases that are no repair of a unit back in service.
--
-- Grain    reason: not_closed, scrapped, unit_replaced
-- Reads    chosen_cases
--
-- Parameters: $left_service VARCHAR[]
SELECT
    CASE WHEN closed_on IS NULL THEN 'not_closed' ELSE disposition END AS reason,
    count(*) AS n_cases
FROM chosen_cases
WHERE
    mode IS NOT NULL
    AND (
        closed_on IS NULL
        OR list_contains(CAST($left_service AS VARCHAR[]), disposition)
    )
GROUP BY ALL
ORDER BY ALL;
