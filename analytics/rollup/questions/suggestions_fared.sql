-- suggestions_fared: how the suggestions kept for open cases fared, counted.
--
-- Grain    one suggester that gave any
-- Units    n_...: suggestions; of the confirmed ones n_first and n_three (the mode was
--          named first, among the first three), n_enough (a mode could be named),
--          n_late (confirmed, by the record, before the suggestion was given), and
--          over them sums of the share p given to the first mode, its square, p (1 - p)
-- Reads    suggestion_fared
SELECT
    suggester,
    min(given_on) AS first_given_on,
    max(given_on) AS last_given_on,
    count(*) AS n_kept,
    count(*) FILTER (WHERE state = 'confirmed') AS n_confirmed,
    count(*) FILTER (WHERE state = 'open') AS n_open,
    count(*) FILTER (WHERE state = 'closed') AS n_closed,
    count(*) FILTER (WHERE days_to_confirmation < 0) AS n_late,
    count(*) FILTER (WHERE rank = 1) AS n_first,
    count(*) FILTER (WHERE rank <= 3) AS n_three,
    count(*) FILTER (WHERE mode IS NOT NULL AND is_enough) AS n_enough,
    count(*) FILTER (WHERE rank = 1 AND is_enough) AS n_enough_first,
    coalesce(
        sum(top_probability) FILTER (WHERE mode IS NOT NULL), 0
    ) AS sum_given,
    coalesce(
        sum(top_probability ** 2) FILTER (WHERE mode IS NOT NULL), 0
    ) AS sum_squares,
    coalesce(
        sum(top_probability * (1 - top_probability)) FILTER (WHERE mode IS NOT NULL), 0
    ) AS sum_variances
FROM suggestion_fared
GROUP BY suggester
ORDER BY first_given_on, suggester;
