-- about: what these figures are, and on which assumptions.
--
-- Grain    one row
-- Key      snapshot
-- Units    delay_days: days between the observation end and as_of
-- Reads    units, cases, store.batches; the rest is handed in
-- Feeds    every answer and export
--
-- Parameters: $snapshot VARCHAR, $as_of DATE, $observation_end DATE,
--             $delay_days INTEGER, $delay_source VARCHAR, $n_delays BIGINT,
--             $origin VARCHAR, $failures_seen VARCHAR, $program VARCHAR, $suggester VARCHAR,
--             $published_at TIMESTAMP, $previous VARCHAR: the figures shown until now

CREATE TABLE about AS
SELECT
    CAST($snapshot AS VARCHAR) AS snapshot,
    CAST($as_of AS DATE) AS as_of,
    CAST($observation_end AS DATE) AS observation_end,
    CAST($delay_days AS INTEGER) AS delay_days,
    CAST($delay_source AS VARCHAR) AS delay_source,
    CAST($n_delays AS BIGINT) AS n_delays,
    CAST($origin AS VARCHAR) AS origin,
    CAST($failures_seen AS VARCHAR) AS failures_seen,
    CAST($program AS VARCHAR) AS program,
    CAST($suggester AS VARCHAR) AS suggester,
    CAST($published_at AS TIMESTAMP) AS published_at,
    (SELECT count(*) FROM units) AS n_units,
    (SELECT count(*) FROM cases) AS n_cases,
    (SELECT coalesce(max(batch), 0) FROM store.batches) AS latest_batch,
    CAST($previous AS VARCHAR) AS previous;
