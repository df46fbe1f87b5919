-- waiting: records kept that name a unit or case nobody has told of yet.
--
-- Grain    kind x what its rows wait for
-- Key      kind
-- Units    n_rows: records; n_names: units or cases waited for; names: the first
--          five, `;` between
-- Reads    store.units, store.repairs, store.readings, store.usage, store.status
-- Feeds    data quality
--
-- Parameters: $as_of DATE; later records do not exist on that day

CREATE TABLE waiting AS
WITH named AS (
    SELECT 'repairs' AS kind, 'unit' AS waits_for, serial AS name
    FROM store.repairs
    WHERE received_on <= $as_of
    UNION ALL
    SELECT 'readings' AS kind, 'case' AS waits_for, case_id AS name
    FROM store.readings
    WHERE CAST(taken_at AS DATE) <= $as_of
    UNION ALL
    SELECT 'usage' AS kind, 'unit' AS waits_for, serial AS name
    FROM store.usage
    WHERE month <= $as_of
    UNION ALL
    SELECT 'status' AS kind, 'unit' AS waits_for, serial AS name
    FROM store.status
    WHERE CAST(received_at AS DATE) <= $as_of
),

known AS (
    SELECT 'unit' AS waits_for, serial AS name FROM store.units
    UNION ALL
    SELECT 'case' AS waits_for, case_id AS name FROM store.repairs
),

missed AS (
    SELECT named.kind, named.waits_for, named.name, count(*) AS n_rows
    FROM named
    ANTI JOIN known ON named.waits_for = known.waits_for AND named.name = known.name
    GROUP BY ALL
)

SELECT
    kind,
    waits_for,
    CAST(sum(n_rows) AS BIGINT) AS n_rows,
    count(*) AS n_names,
    array_to_string(list_slice(list_sort(list(name)), 1, 5), '; ') AS names
FROM missed
GROUP BY kind, waits_for
ORDER BY kind;
