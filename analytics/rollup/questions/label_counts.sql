-- label_counts: how many confirmed cases under the filters have which support.
--
-- Grain    support
-- Reads    label_support, chosen_cases
SELECT label_support.support, count(*) AS n_cases
FROM chosen_cases
INNER JOIN label_support ON chosen_cases.case_id = label_support.case_id
GROUP BY label_support.support
ORDER BY label_support.support;
