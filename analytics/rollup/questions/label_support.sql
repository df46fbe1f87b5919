-- label_support: the confirmed cases under the filters and what backs their label.
--
-- Grain    one confirmed case
-- Reads    label_support, chosen_cases
SELECT label_support.*, chosen_cases.serial
FROM chosen_cases
INNER JOIN label_support ON chosen_cases.case_id = label_support.case_id
ORDER BY chosen_cases.received_on DESC, chosen_cases.case_id;
