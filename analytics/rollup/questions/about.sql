-- about: what these figures are.
--
-- Grain    one row
-- Reads    about
SELECT * FROM about;
