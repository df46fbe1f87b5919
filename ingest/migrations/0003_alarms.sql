-- What the watch has raised, what is being done about it, and who was told.
--
-- An alarm is kept as it was first raised and never changes; a later publish may raise
-- it again and finds it here. Months are kept as their first day, times are UTC.

-- Grain: one alarm. failure: code of a mode, group or component; value: of the family's
-- dimension, NULL where it is not recorded or the family has none. look: the month that
-- raised it. first_seen_on: the day on which first_snapshot was published.
CREATE TABLE alarms (
    alarm VARCHAR PRIMARY KEY,
    family VARCHAR NOT NULL,
    failure VARCHAR NOT NULL,
    value VARCHAR,
    look DATE NOT NULL,
    first_snapshot VARCHAR NOT NULL,
    first_seen_on DATE NOT NULL
);

-- Grain: one row, or none before the first watch. through: the last month watched;
-- first_live: the month from which the watch has been raising alarms.
CREATE TABLE alarm_watch (
    through DATE NOT NULL,
    first_live DATE NOT NULL
);

-- Grain: one note; the one with the highest number stands.
CREATE TABLE alarm_notes (
    note BIGINT PRIMARY KEY,
    alarm VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    note_text VARCHAR,
    noted_at TIMESTAMP NOT NULL
);

-- Grain: one alarm sent to one place.
CREATE TABLE alarm_deliveries (
    alarm VARCHAR NOT NULL,
    destination VARCHAR NOT NULL,
    sent_at TIMESTAMP NOT NULL,
    PRIMARY KEY (alarm, destination)
);
