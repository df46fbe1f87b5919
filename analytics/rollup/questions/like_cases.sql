-- like_cases: confirmed cases of one mode that share evidence with a return, newest first.
--
-- Grain    one case
-- Reads    evidence, label_support
--
-- Shared: a reported symptom, finding or error word; where the return has none of these
-- ($by_rest), a symptom answered no, the model, environment, connector or age bin. The
-- same as analytics.advice.like_cases counts: none_reported and clean are no evidence,
-- and a symptom that is reported is not denied.
--
-- Parameters: $mode VARCHAR; $symptoms, $findings, $error_words, $denied VARCHAR[];
--             $by_rest BOOLEAN; $model, $environment, $connector VARCHAR;
--             $age_from, $age_to INTEGER: days, from and before; both NULL without a bin
WITH coded AS (
    SELECT
        evidence.case_id,
        evidence.received_on,
        evidence.model,
        evidence.environment,
        evidence.connector,
        evidence.age_days,
        label_support.support,
        list_filter(
            list_transform(
                string_split(coalesce(evidence.symptoms, ''), ';'),
                lambda code: trim(code)
            ),
            lambda code: code NOT IN ('', 'none_reported')
        ) AS reported,
        list_transform(
            string_split(coalesce(evidence.symptoms_denied, ''), ';'),
            lambda code: trim(code)
        ) AS denied,
        list_filter(
            list_transform(
                string_split(coalesce(evidence.intake_findings, ''), ';'),
                lambda code: trim(code)
            ),
            lambda code: code != 'clean'
        ) AS findings,
        list_transform(
            string_split(coalesce(evidence.charger_error_codes, ''), ';'),
            lambda code: trim(code)
        ) AS error_words
    FROM evidence
    LEFT JOIN label_support ON evidence.case_id = label_support.case_id
    WHERE evidence.mode = CAST($mode AS VARCHAR)
),

shared AS (
    SELECT
        *,
        list_filter(
            CAST($symptoms AS VARCHAR[]), lambda code: list_contains(reported, code)
        ) AS shared_symptoms,
        list_filter(
            CAST($findings AS VARCHAR[]), lambda code: list_contains(findings, code)
        ) AS shared_findings,
        list_filter(
            CAST($error_words AS VARCHAR[]),
            lambda code: list_contains(error_words, code)
        ) AS shared_error_words,
        list_filter(
            CAST($denied AS VARCHAR[]),
            lambda code:
                $by_rest
                AND list_contains(denied, code)
                AND NOT list_contains(reported, code)
        ) AS shared_denied,
        coalesce($by_rest AND trim(model) = $model, false) AS same_model,
        coalesce(
            $by_rest AND trim(environment) = $environment, false
        ) AS same_environment,
        coalesce($by_rest AND trim(connector) = $connector, false) AS same_connector,
        coalesce(
            $by_rest
            AND coalesce($age_from, $age_to) IS NOT NULL
            AND age_days >= coalesce(CAST($age_from AS INTEGER), 0)
            AND (
                $age_to IS NULL OR age_days < CAST($age_to AS INTEGER)
            ),
            false
        ) AS same_age
    FROM coded
)

SELECT
    case_id,
    received_on,
    model,
    age_days,
    support,
    shared_symptoms,
    shared_findings,
    shared_error_words,
    shared_denied,
    same_model,
    same_environment,
    same_connector,
    same_age
FROM shared
WHERE
    len(shared_symptoms)
    + len(shared_findings)
    + len(shared_error_words)
    + len(shared_denied) > 0
    OR same_model
    OR same_environment
    OR same_connector
    OR same_age
ORDER BY received_on DESC, case_id;
