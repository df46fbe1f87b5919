-- mode_counts: cases by confirmed mode; a row with mode NULL counts the open ones.
--
-- Grain    mode
-- Units    n_repeats: cases of a unit that was here before
-- Reads    chosen_cases
SELECT
    mode,
    count(*) AS n_cases,
    count(*) FILTER (WHERE return_no > 1) AS n_repeats,
    count(*) FILTER (WHERE unit_no IS NULL) AS n_unknown_serial
FROM chosen_cases
GROUP BY mode
ORDER BY n_cases DESC, mode;
