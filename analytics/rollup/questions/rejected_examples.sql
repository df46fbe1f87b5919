-- rejected_examples: for each problem up to three of the rows set aside for it.
--
-- Grain    kind x field x code x example
-- Reads    rejected_examples
SELECT * FROM rejected_examples ORDER BY kind, field, code, example_no;
