-- cases: every return received by as_of, flat, as it was known on that day.
--
-- Grain    one case
-- Key      case_id
-- Censored mode IS NULL: not confirmed by as_of (an open case)
-- Units    age_days: whole days from in_service_day to failure_day; costs in currency
-- Reads    store.repairs, units, model_rules
-- Feeds    lives, confirmation_delay, evidence; frequencies; exports
--
-- failure_day is failed_on, else received_on less the model's reporting lag. A case
-- with a mode and no confirmed_on counts as confirmed on closed_on, else received_on.
--
-- Parameters: $as_of DATE

CREATE TABLE cases AS
WITH known AS (
    SELECT
        repair.*,
        coalesce(repair.confirmed_on, repair.closed_on, repair.received_on)
        <= $as_of AS is_confirmed
    FROM store.repairs AS repair
    WHERE repair.received_on <= $as_of
),

dated AS (
    SELECT
        known.*,
        units.unit_no,
        coalesce(
            known.failed_on,
            known.received_on - coalesce(model_rules.reporting_lag_days, 0)
        ) AS failure_day,
        units.in_service_day,
        units.model,
        units.production_lot,
        units.hardware_revision,
        coalesce(
            known.firmware_version, units.firmware_version
        ) AS firmware_at_case,
        units.cable_supplier,
        units.site,
        units.region,
        units.environment,
        units.duty,
        units.connector
    FROM known
    LEFT JOIN units ON known.serial = units.serial
    LEFT JOIN model_rules ON units.model = model_rules.model
)

SELECT
    case_id,
    serial,
    unit_no,
    received_on,
    failure_day,
    failed_on IS NULL AS failure_day_from_receipt,
    last_known_good_on,
    date_diff('day', in_service_day, failure_day) AS age_days,
    row_number() OVER (
        PARTITION BY serial ORDER BY received_on, case_id
    ) AS return_no,
    CASE WHEN is_confirmed THEN confirmed_mode END AS mode,
    CASE WHEN is_confirmed THEN mechanism END AS mechanism,
    CASE WHEN is_confirmed THEN cause_category END AS cause_category,
    CASE
        WHEN is_confirmed AND confirmed_mode IS NOT NULL THEN confirmed_on
    END AS confirmed_on,
    CASE WHEN closed_on <= $as_of THEN closed_on END AS closed_on,
    CASE WHEN closed_on <= $as_of THEN disposition END AS disposition,
    opened_before_arrival,
    symptoms,
    symptoms_denied,
    symptom_text,
    charger_error_codes,
    intake_findings,
    labour_minutes,
    parts_cost,
    freight_cost,
    currency,
    technician,
    model,
    production_lot,
    hardware_revision,
    firmware_at_case AS firmware_version,
    cable_supplier,
    site,
    region,
    environment,
    duty,
    connector
FROM dated
ORDER BY case_id;
