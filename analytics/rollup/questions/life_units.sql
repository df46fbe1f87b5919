-- life_units: the units under the filters, by why they have no life data.
--
-- Grain    reason (NULL = with life data)
-- Units    n_returned: units with a case; n_past_term: term over before the
--          observation end; n_no_term: end of the term not known
-- Reads    chosen_units
--
-- Parameters: $observation_end DATE
SELECT
    left_out AS reason,
    count(*) AS n_units,
    count(*) FILTER (WHERE is_returned) AS n_returned,
    count(*) FILTER (
        WHERE warranty_until < CAST($observation_end AS DATE)
    ) AS n_past_term,
    count(*) FILTER (WHERE warranty_until IS NULL) AS n_no_term
FROM chosen_units
GROUP BY left_out
ORDER BY left_out;
