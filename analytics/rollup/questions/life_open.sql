-- life_open: cases of the units under the filters that no life shows yet.
--
-- Grain    one row
-- Units    n_open: not confirmed by the day the figures speak for; n_closed: confirmed;
--          n_after_end: failures after the observation end; n_after_term: of the
--          cases, those whose failure day lies after the end of the term
-- Reads    chosen_units, cases
--
-- Parameters: $observation_end DATE, $not_failures VARCHAR[]
SELECT
    count(*) FILTER (WHERE cases.mode IS NULL) AS n_open,
    count(*) FILTER (WHERE cases.mode IS NOT NULL) AS n_closed,
    count(*) FILTER (
        WHERE cases.mode IS NOT NULL
        AND NOT list_contains(CAST($not_failures AS VARCHAR[]), cases.mode)
        AND cases.failure_day > CAST($observation_end AS DATE)
    ) AS n_after_end,
    count(*) FILTER (
        WHERE cases.failure_day > chosen_units.warranty_until
    ) AS n_after_term
FROM chosen_units
INNER JOIN cases ON chosen_units.unit_no = cases.unit_no
WHERE chosen_units.is_returned;
