-- label_contradicted: the cases under the filters whose mode a reading contradicts.
--
-- Grain    one confirmed case, newest first
-- Reads    label_support, chosen_cases
SELECT
    label_support.case_id,
    chosen_cases.serial,
    label_support.mode,
    label_support.contradicted_by,
    label_support.words
FROM chosen_cases
INNER JOIN label_support ON chosen_cases.case_id = label_support.case_id
WHERE label_support.support = 'contradicted'
ORDER BY chosen_cases.received_on DESC, chosen_cases.case_id;
