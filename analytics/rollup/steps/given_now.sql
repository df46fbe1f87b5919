-- given_now: the suggestions that this publish gives, as the store will keep them.
--
-- Grain    one open case that had none
-- Key      case_id
-- Reads    given (handed in)
-- Feeds    suggestion_fared
--
-- Parameters: $given_on TIMESTAMP, $snapshot VARCHAR, $suggester VARCHAR,
--             $n_cases BIGINT

CREATE OR REPLACE TEMP TABLE given_now AS
SELECT
    case_id,
    CAST($given_on AS TIMESTAMP) AS given_on,
    CAST($snapshot AS VARCHAR) AS snapshot,
    CAST($suggester AS VARCHAR) AS suggester,
    CAST($n_cases AS BIGINT) AS n_cases,
    is_enough,
    modes,
    probabilities
FROM given;
