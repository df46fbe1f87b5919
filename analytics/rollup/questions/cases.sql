-- cases: the cases under the filters, newest first, for export and drill-down.
--
-- Grain    one case
-- Reads    chosen_cases
SELECT * EXCLUDE (unit_no)
FROM chosen_cases
ORDER BY received_on DESC, case_id;
