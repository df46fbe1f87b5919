-- watch_kinds: units that share all that the watch tells groups apart by.
--
-- Grain    kind
-- Reads    watched_kinds
SELECT * FROM watched_kinds
ORDER BY kind;
