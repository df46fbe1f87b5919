-- repairs_back: repairs, and after how many days their unit came back.
--
-- Grain    mode x kind of repair x days x whether it came back
-- Censored is_back false: not back when last followed, `days` after the repair
-- Units    days: from the close of the case to the receipt of the next, else to the end
--          of follow-up; n_same: came back and the same mode was confirmed again;
--          is_followed: repaired $within days before
--          the observation end or earlier, and not retired within them unless back
-- Reads    chosen_cases, cases, units, about
--
-- A repair is a closed case whose unit went back into service (not scrapped, not
-- replaced). Follow-up ends with the observation end, or with the retirement of a unit
-- that has not come back. Every return counts, whatever came of it.
--
-- Parameters: $within INTEGER, $left_service VARCHAR[]
WITH repairs AS (
    SELECT
        chosen.case_id,
        chosen.serial,
        chosen.mode,
        chosen.disposition,
        chosen.closed_on,
        about.observation_end,
        unit.retired_on
    FROM chosen_cases AS chosen
    CROSS JOIN about
    LEFT JOIN units AS unit ON chosen.unit_no = unit.unit_no
    WHERE
        chosen.closed_on IS NOT NULL
        AND chosen.mode IS NOT NULL
        AND NOT coalesce(
            list_contains(CAST($left_service AS VARCHAR[]), chosen.disposition), false
        )
),

nexts AS (
    SELECT
        repairs.*,
        next.received_on AS back_on,
        next.mode AS back_mode
    FROM repairs
    LEFT JOIN cases AS next
        ON
            repairs.serial = next.serial
            AND repairs.case_id != next.case_id
            AND next.received_on >= repairs.closed_on
    QUALIFY
        row_number() OVER (
            PARTITION BY repairs.case_id ORDER BY next.received_on, next.case_id
        ) = 1
),

followed AS (
    SELECT
        mode,
        disposition,
        back_mode,
        coalesce(back_on <= observation_end, false) AS is_back,
        date_diff(
            'day',
            closed_on,
            CASE
                WHEN back_on <= observation_end THEN back_on
                ELSE least(observation_end, retired_on)
            END
        ) AS days,
        closed_on + CAST($within AS INTEGER) <= observation_end AS is_old_enough
    FROM nexts
)

SELECT
    mode,
    disposition,
    days,
    is_back,
    is_old_enough
    AND (is_back OR days >= CAST($within AS INTEGER)) AS is_followed,
    count(*) AS n_repairs,
    count(*) FILTER (WHERE is_back AND back_mode = mode) AS n_same
FROM followed
GROUP BY ALL
ORDER BY ALL;
