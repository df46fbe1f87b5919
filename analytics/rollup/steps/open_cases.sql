-- open_cases: cases whose cause is not known to anybody, whatever day is spoken for.
--
-- Grain    one case of the store
-- Key      case_id
-- Reads    store.repairs, store.repair_versions
-- Feeds    the suggestions kept, and the id of the figures
--
-- A case that was confirmed in any version is none, even where a later one took the
-- cause back: a suggester may have learned from it. One closed without a cause is none.

CREATE OR REPLACE TEMP VIEW open_cases AS
SELECT repair.case_id
FROM store.repairs AS repair
ANTI JOIN (
    SELECT case_id FROM store.repair_versions WHERE confirmed_mode IS NOT NULL
) AS confirmed ON repair.case_id = confirmed.case_id
WHERE repair.closed_on IS NULL;
