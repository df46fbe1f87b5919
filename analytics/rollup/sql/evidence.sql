-- evidence: what was known of a case at intake, and what was confirmed later.
--
-- Grain    one case
-- Key      case_id
-- Censored mode IS NULL: not confirmed by as_of
-- Units    age_days: whole days; code lists as in the file, `;` between
-- Reads    cases
-- Feeds    advice.suggest

CREATE VIEW evidence AS
SELECT
    case_id,
    serial,
    received_on,
    confirmed_on,
    symptoms,
    symptoms_denied,
    symptom_text,
    charger_error_codes,
    intake_findings,
    opened_before_arrival,
    model,
    connector,
    environment,
    CASE WHEN age_days >= 0 THEN age_days END AS age_days,
    mode
FROM cases;
