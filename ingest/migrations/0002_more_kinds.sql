-- Four more kinds of record, what a batch can be taken back by, and which mapping
-- it was read with.
--
-- As in the first layout a key occurs at most once per batch, and the newest batch
-- of a key is the record as it stands. A month is kept as its first day.

-- mapping: the text of the column mapping used, NULL without one. decimal_comma: a
-- number of the file could have one. A batch that was taken back stays listed, with the
-- time in undone_at.
ALTER TABLE batches ADD COLUMN mapping VARCHAR;
ALTER TABLE batches ADD COLUMN decimal_comma BOOLEAN;
ALTER TABLE batches ADD COLUMN undone_at TIMESTAMP;

-- read_as: the batch whose mapping and decimal commas the cells are read with, 0 for
-- none. A row of a correction file keeps that of the row it corrects.
ALTER TABLE rejected_rows ADD COLUMN read_as BIGINT;
UPDATE rejected_rows SET read_as = batch;

CREATE TABLE shipment_versions (
    model VARCHAR NOT NULL,
    production_lot VARCHAR,
    shipped_month DATE NOT NULL,
    region VARCHAR,
    quantity BIGINT NOT NULL,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

CREATE TABLE planned_sale_versions (
    model VARCHAR NOT NULL,
    month DATE NOT NULL,
    region VARCHAR,
    quantity BIGINT NOT NULL,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

CREATE TABLE usage_versions (
    serial VARCHAR NOT NULL,
    month DATE NOT NULL,
    sessions BIGINT,
    energy_kwh DOUBLE,
    connected_hours DOUBLE,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

-- message is the call as the charger sent it. message_id, action, happened_at (the
-- time the charger gives, else that of receipt, UTC) and words (error words with `;`
-- between, in their own spelling; NULL when the call reports no error) are read from
-- it.
CREATE TABLE status_versions (
    serial VARCHAR NOT NULL,
    received_at TIMESTAMP NOT NULL,
    message VARCHAR NOT NULL,
    message_id VARCHAR NOT NULL,
    action VARCHAR NOT NULL,
    happened_at TIMESTAMP NOT NULL,
    words VARCHAR,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

-- Grain: one row of a file whose content an earlier batch had stored. When that
-- earlier batch is taken back, the row stands in its place.
CREATE TABLE repeated_rows (
    batch BIGINT NOT NULL,
    kind VARCHAR NOT NULL,
    content_hash VARCHAR NOT NULL,
    row_no BIGINT NOT NULL
);

-- The same for rows set aside, with what was wrong with them this time.
CREATE TABLE repeated_rejected_rows (
    batch BIGINT NOT NULL,
    rejected_row VARCHAR NOT NULL,
    row_no BIGINT NOT NULL,
    problems JSON NOT NULL,
    read_as BIGINT NOT NULL
);

-- Rows set aside as they stand: what is wrong with them, and how they are read, is as
-- it was when they came last.
CREATE VIEW rows_set_aside AS
WITH came AS (
    SELECT rejected_row, batch, problems, read_as FROM rejected_rows
    UNION ALL
    SELECT rejected_row, batch, problems, read_as FROM repeated_rejected_rows
),

came_last AS (
    SELECT
        rejected_row,
        arg_max(problems, batch) AS problems,
        arg_max(read_as, batch) AS read_as
    FROM came
    GROUP BY rejected_row
)

SELECT
    rejected_rows.rejected_row,
    rejected_rows.kind,
    rejected_rows.batch,
    rejected_rows.path,
    rejected_rows.row_no,
    rejected_rows.cells,
    came_last.problems,
    rejected_rows.resolved_by,
    came_last.read_as
FROM rejected_rows
INNER JOIN came_last ON rejected_rows.rejected_row = came_last.rejected_row;

-- Grain: one cell of a column that no field is known for, of an accepted row; kept
-- only where the settings ask for it.
CREATE TABLE unknown_cells (
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL,
    field VARCHAR NOT NULL,
    cell VARCHAR NOT NULL
);

CREATE VIEW shipments AS
SELECT *
FROM shipment_versions
QUALIFY
    row_number() OVER (
        PARTITION BY model, production_lot, shipped_month, region
        ORDER BY batch DESC
    ) = 1;

CREATE VIEW planned_sales AS
SELECT *
FROM planned_sale_versions
QUALIFY
    row_number() OVER (
        PARTITION BY model, month, region ORDER BY batch DESC
    ) = 1;

CREATE VIEW usage AS
SELECT *
FROM usage_versions
QUALIFY row_number() OVER (PARTITION BY serial, month ORDER BY batch DESC) = 1;

CREATE VIEW status AS
SELECT *
FROM status_versions
QUALIFY
    row_number() OVER (
        PARTITION BY serial, received_at, message_id ORDER BY batch DESC
    ) = 1;

-- The digest of what a row says is no longer kept with it: it is worked out where rows
-- are compared, which is seldom, and no digest outlives the words it was made from.

DROP VIEW units;

ALTER TABLE unit_versions DROP COLUMN content_hash;

CREATE VIEW units AS
SELECT *
FROM unit_versions
QUALIFY row_number() OVER (PARTITION BY serial ORDER BY batch DESC) = 1;

DROP VIEW repairs;

ALTER TABLE repair_versions DROP COLUMN content_hash;

CREATE VIEW repairs AS
SELECT *
FROM repair_versions
QUALIFY row_number() OVER (PARTITION BY case_id ORDER BY batch DESC) = 1;

DROP VIEW readings;

ALTER TABLE reading_versions DROP COLUMN content_hash;

CREATE VIEW readings AS
SELECT *
FROM reading_versions
QUALIFY
    row_number() OVER (
        PARTITION BY case_id, "check", stage, point, condition, taken_at, sequence
        ORDER BY batch DESC
    ) = 1;
