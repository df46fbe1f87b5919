-- suggestions_due: what was known at intake of open cases that have no suggestion yet.
--
-- Grain    one case
-- Reads    evidence, open_cases, store.suggestions
SELECT evidence.* EXCLUDE (confirmed_on, mode)
FROM evidence
SEMI JOIN open_cases ON evidence.case_id = open_cases.case_id
ANTI JOIN store.suggestions AS kept ON evidence.case_id = kept.case_id
WHERE evidence.mode IS NULL
ORDER BY evidence.case_id;
