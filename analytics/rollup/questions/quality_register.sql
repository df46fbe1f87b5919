-- quality_register: what the register says of itself.
--
-- Grain    one row
-- Reads    register_counts
SELECT * FROM register_counts;
