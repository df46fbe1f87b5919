-- evidence: what was known of each case at intake, in the order received.
--
-- Grain    one case
-- Reads    evidence
SELECT * FROM evidence ORDER BY received_on, case_id;
