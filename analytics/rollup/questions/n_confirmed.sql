-- n_confirmed: how many cases have a confirmed mode.
--
-- Grain    one row
-- Reads    evidence
SELECT count(mode) AS n_confirmed FROM evidence;
