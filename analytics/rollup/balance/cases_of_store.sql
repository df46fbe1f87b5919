-- cases_of_store: no case received by as_of is lost or counted twice.
--
-- Grain    one row: what is counted, and the two counts that must agree
-- Reads    cases, store.repairs
--
-- Parameters: $as_of DATE
SELECT
    'cases, against cases in the store received by the day' AS what,
    (SELECT count(*) FROM cases) AS found,
    (SELECT count(*) FROM store.repairs WHERE received_on <= $as_of) AS expected;
