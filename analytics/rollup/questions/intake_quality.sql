-- intake_quality: what happened to the rows of every file.
--
-- Grain    one ingested file x field x problem code
-- Reads    intake_quality
SELECT * FROM intake_quality ORDER BY batch, n_rows DESC, field, code;
