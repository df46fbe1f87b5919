-- suggestions_settled: a digest of the suggestions kept whose cases are open no longer.
--
-- Grain    one row
-- Reads    store.suggestions, store.repairs, open_cases
--
-- Those of open cases are left out: every publish keeps one for each of them, so the
-- records alone say how many there are. So are those of cases taken back.
SELECT md5(string_agg(CAST(kept AS VARCHAR), chr(10) ORDER BY kept.case_id)) AS digest
FROM store.suggestions AS kept
SEMI JOIN store.repairs AS repair ON kept.case_id = repair.case_id
ANTI JOIN open_cases ON kept.case_id = open_cases.case_id;
