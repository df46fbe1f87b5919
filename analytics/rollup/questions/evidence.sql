-- evidence: what was known of each case at intake, in the order received.
--
-- Grain    one case
-- Reads    evidence, label_support
SELECT evidence.*, label_support.support
FROM evidence
LEFT JOIN label_support ON evidence.case_id = label_support.case_id
ORDER BY evidence.received_on, evidence.case_id;
