-- early_returns: confirmed cases whose unit came back soon with the same symptom.
--
-- Grain    one confirmed case whose label was not confirmed or changed since
-- Key      case_id
-- Units    after_days: days from the close of the case (else its confirmation, else
--          its receipt) to the receipt of the next
-- Reads    cases, store.repair_versions
-- Feeds    label_support
--
-- A label is renewed when it is confirmed on or after the day the unit came back, or
-- when a version stored after that return has another mode or day of confirmation.
--
-- Parameters: $back_within_days INTEGER

CREATE TEMP TABLE early_returns AS
WITH reported AS (
    SELECT
        case_id,
        serial,
        received_on,
        mode,
        confirmed_on,
        coalesce(closed_on, confirmed_on, received_on) AS left_on,
        list_filter(
            list_transform(
                string_split(symptoms, ';'), lambda symptom: trim(symptom)
            ),
            lambda symptom: symptom NOT IN ('', 'none_reported')
        ) AS symptoms
    FROM cases
),

back AS (
    SELECT
        first.case_id,
        first.mode,
        first.confirmed_on,
        next.case_id AS next_case_id,
        date_diff('day', first.left_on, next.received_on) AS after_days,
        list_sort(list_intersect(first.symptoms, next.symptoms)) AS shared
    FROM reported AS first
    INNER JOIN reported AS next
        ON
            first.serial = next.serial
            AND first.received_on < next.received_on
            AND next.received_on
            <= first.left_on + CAST($back_within_days AS INTEGER)
    WHERE
        first.mode IS NOT NULL
        AND list_has_any(first.symptoms, next.symptoms)
        AND (first.confirmed_on IS NULL OR first.confirmed_on < next.received_on)
    QUALIFY
        row_number() OVER (
            PARTITION BY first.case_id ORDER BY next.received_on, next.case_id
        ) = 1
),

stored AS (
    SELECT case_id, min(batch) AS first_batch
    FROM store.repair_versions
    GROUP BY case_id
),

labelled AS (
    SELECT back.case_id, min(version.batch) AS label_batch
    FROM back
    INNER JOIN store.repair_versions AS version ON back.case_id = version.case_id
    WHERE
        version.confirmed_mode = back.mode
        AND version.confirmed_on IS NOT DISTINCT FROM back.confirmed_on
    GROUP BY back.case_id
)

SELECT
    back.case_id,
    back.next_case_id,
    back.after_days,
    array_to_string(back.shared, ', ') AS shared
FROM back
INNER JOIN stored ON back.case_id = stored.case_id
INNER JOIN stored AS next_stored ON back.next_case_id = next_stored.case_id
LEFT JOIN labelled ON back.case_id = labelled.case_id
WHERE NOT coalesce(
    stored.first_batch <= next_stored.first_batch
    AND labelled.label_batch > next_stored.first_batch,
    false
);
