-- limit_contexts: the distinct sets of facts that limits depend on.
--
-- Grain    one set of facts
-- Key      context_no; limit_facts is unique too
-- Reads    known_readings
-- Feeds    advice.judging.limits_of, readings
--
-- Parameters: none

CREATE OR REPLACE TEMP TABLE limit_contexts AS
SELECT
    row_number() OVER (ORDER BY limit_facts) AS context_no,
    limit_facts,
    limit_facts.*
FROM (SELECT DISTINCT limit_facts FROM known_readings)
ORDER BY context_no;
