-- life_out_of_sight: units by what is known of the end of their term.
--
-- Grain    one row
-- Units    n_past_term: with life data, term over before the observation end;
--          n_no_term: with life data, end of the term not known; n_listed: all
-- Reads    chosen_units
--
-- Parameters: $observation_end DATE
SELECT
    count(*) AS n_listed,
    count(*) FILTER (
        WHERE left_out IS NULL AND warranty_until < CAST($observation_end AS DATE)
    ) AS n_past_term,
    count(*) FILTER (WHERE left_out IS NULL AND warranty_until IS NULL) AS n_no_term
FROM chosen_units;
