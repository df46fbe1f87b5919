-- newest_evidence: what was known at intake of the newest cases, in the order received.
--
-- Grain    one case received since the first of the newest $most confirmed ones
-- Reads    evidence, label_support
--
-- Parameters: $most BIGINT
SELECT evidence.*, label_support.support
FROM evidence
LEFT JOIN label_support ON evidence.case_id = label_support.case_id
WHERE
    evidence.received_on >= (
        SELECT min(received_on)
        FROM (
            SELECT received_on
            FROM evidence
            WHERE mode IS NOT NULL
            ORDER BY received_on DESC
            LIMIT $most
        ) AS newest
    )
    OR NOT exists(SELECT 1 FROM evidence WHERE mode IS NOT NULL)
ORDER BY evidence.received_on, evidence.case_id;
