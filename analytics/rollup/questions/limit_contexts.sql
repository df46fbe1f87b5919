-- limit_contexts: the distinct sets of facts that limits depend on, for the limits.
--
-- Grain    one set of facts
-- Reads    limit_contexts
SELECT * EXCLUDE (limit_facts) FROM limit_contexts ORDER BY context_no;
