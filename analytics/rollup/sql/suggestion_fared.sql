-- suggestion_fared: what was suggested while a case was open, and what became of it.
--
-- Grain    one suggestion kept, of a case received by as_of
-- Key      case_id
-- Censored mode IS NULL: no cause confirmed by as_of
-- Units    given_on: UTC; days_to_confirmation: whole days from given_on, below 0 where
--          the cause was confirmed before and taken in afterwards; empty where no day
--          of confirmation is recorded
-- Reads    store.suggestions, given_now (those this publish keeps), cases
-- Feeds    the report about suggestions
--
-- state: confirmed; closed without a cause; open. A case whose files were taken back is
-- in no figures, and neither is its suggestion. rank: place of the confirmed mode among
-- the modes kept, empty where it is not among them; probability: what it was given. All
-- confirmed modes count alike, as where suggestions are scored afterwards.

CREATE TABLE suggestion_fared AS
WITH given AS (
    SELECT * FROM store.suggestions
    UNION ALL BY NAME
    SELECT * FROM given_now
),

joined AS (
    SELECT
        given.case_id,
        given.given_on,
        given.suggester,
        given.n_cases,
        CASE
            WHEN cases.mode IS NOT NULL THEN 'confirmed'
            WHEN cases.closed_on IS NOT NULL THEN 'closed'
            ELSE 'open'
        END AS state,
        cases.confirmed_on,
        date_diff(
            'day', CAST(given.given_on AS DATE), cases.confirmed_on
        ) AS days_to_confirmation,
        cases.mode,
        nullif(list_position(given.modes, cases.mode), 0) AS rank,
        given.modes[1] AS first_mode,
        given.probabilities[1] AS top_probability,
        given.probabilities,
        given.is_enough
    FROM given
    INNER JOIN cases ON given.case_id = cases.case_id
)

SELECT
    * EXCLUDE (probabilities),
    probabilities[rank] AS probability
FROM joined
ORDER BY case_id;
