-- waiting: records kept that name a unit or case nobody has told of yet.
--
-- Grain    kind x what its rows wait for
-- Reads    waiting
SELECT * FROM waiting ORDER BY kind;
