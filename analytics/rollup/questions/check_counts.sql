-- check_counts: how often each check failed in own cases of each mode.
--
-- Grain    one check x confirmed mode with an outcome on record
-- Reads    check_counts
--
-- Parameters: none
SELECT
    "check",
    mode,
    n_done,
    n_failed
FROM check_counts
ORDER BY "check", mode;
