-- cases: every return received by as_of, flat, as it was known on that day.
--
-- Grain    one case
-- Key      case_id
-- Censored mode IS NULL: not confirmed by as_of (an open case)
-- Units    age_days: whole days from in_service_day to failure_day; is_after_term: the
--          failure day lies after the end of the warranty term; costs in currency
-- Reads    store.repairs, store.status, register, model_rules
-- Feeds    lives, confirmation_delay, evidence; frequencies; exports
--
-- failure_day is failed_on, else received_on less the model's reporting lag. A case
-- with a mode and no confirmed_on counts as confirmed on closed_on, else received_on.
--
-- charger_error_codes holds the words reported at intake, then those that the charger
-- sent by itself in the 30 days before the failure day up to the day of receipt (own
-- choice, no source), first sent first, each once. An event that fits two cases of a
-- unit belongs to the earlier one. Words that the catalogue does not know are left
-- out here: they stay in the store and in the history of the case.
--
-- Parameters: $as_of DATE, $error_words VARCHAR[]

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
        register.unit_no,
        coalesce(
            known.failed_on,
            known.received_on - coalesce(model_rules.reporting_lag_days, 0)
        ) AS failure_day,
        register.in_service_day,
        register.warranty_until,
        register.model,
        register.production_lot,
        register.hardware_revision,
        coalesce(
            known.firmware_version, register.firmware_version
        ) AS firmware_at_case,
        register.cable_supplier,
        register.site,
        register.region,
        register.environment,
        register.duty,
        register.connector
    FROM known
    LEFT JOIN register ON known.serial = register.serial
    LEFT JOIN model_rules ON register.model = model_rules.model
),

events AS (
    SELECT
        dated.case_id,
        status.happened_at,
        status.received_at,
        status.message_id,
        string_split(status.words, ';') AS words
    FROM dated
    INNER JOIN store.status AS status ON dated.serial = status.serial
    WHERE
        status.words IS NOT NULL
        AND CAST(status.received_at AS DATE) <= $as_of
        AND CAST(status.happened_at AS DATE)
        BETWEEN dated.failure_day - 30 AND dated.received_on
    QUALIFY
        row_number() OVER (
            PARTITION BY status.serial, status.received_at, status.message_id
            ORDER BY dated.received_on, dated.case_id
        ) = 1
),

sent AS (
    SELECT
        case_id,
        flatten(
            list(words ORDER BY happened_at, received_at, message_id)
        ) AS words
    FROM events
    GROUP BY case_id
),

told AS (
    SELECT
        dated.*,
        list_filter(
            sent.words,
            lambda word, place:
                list_contains(CAST($error_words AS VARCHAR[]), word)
                AND list_position(sent.words, word) = place
                AND NOT list_contains(
                    string_split(coalesce(dated.charger_error_codes, ''), ';'), word
                )
        ) AS sent_words
    FROM dated
    LEFT JOIN sent ON dated.case_id = sent.case_id
)

SELECT
    case_id,
    serial,
    unit_no,
    received_on,
    failure_day,
    failed_on IS NULL AS failure_day_from_receipt,
    last_known_good_on,
    CAST(date_diff('day', in_service_day, failure_day) AS INTEGER) AS age_days,
    failure_day > warranty_until AS is_after_term,
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
    nullif(
        concat_ws(
            ';', charger_error_codes, nullif(array_to_string(sent_words, ';'), '')
        ),
        ''
    ) AS charger_error_codes,
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
FROM told
ORDER BY case_id;
