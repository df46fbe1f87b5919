-- Four more kinds of record, what a batch can be taken back by, and which mapping
-- it was read with.
--
-- As in the first layout a key occurs at most once per batch, and the newest batch
-- of a key is the record as it stands. A month is kept as its first day.

-- mapping: the text of the column mapping used, NULL without one. A batch that was
-- taken back stays listed, with the time in undone_at.
ALTER TABLE batches ADD COLUMN mapping VARCHAR;
ALTER TABLE batches ADD COLUMN undone_at TIMESTAMP;

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

-- The same for rows set aside.
CREATE TABLE repeated_rejected_rows (
    batch BIGINT NOT NULL,
    rejected_row VARCHAR NOT NULL,
    row_no BIGINT NOT NULL
);

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

-- Every version with the digest of what it says: typed values as text, so that 7.5 and
-- 7.50 are one content, and "not recorded" is no text.

CREATE VIEW unit_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("cable_length_m" AS VARCHAR), chr(30)),
        coalesce(CAST("cable_supplier" AS VARCHAR), chr(30)),
        coalesce(CAST("conductor_area_mm2" AS VARCHAR), chr(30)),
        coalesce(CAST("connector" AS VARCHAR), chr(30)),
        coalesce(CAST("duty" AS VARCHAR), chr(30)),
        coalesce(CAST("earth_area_mm2" AS VARCHAR), chr(30)),
        coalesce(CAST("environment" AS VARCHAR), chr(30)),
        coalesce(CAST("firmware_version" AS VARCHAR), chr(30)),
        coalesce(CAST("ground_fault_device" AS VARCHAR), chr(30)),
        coalesce(CAST("hardware_revision" AS VARCHAR), chr(30)),
        coalesce(CAST("in_service_on" AS VARCHAR), chr(30)),
        coalesce(CAST("manufactured_on" AS VARCHAR), chr(30)),
        coalesce(CAST("model" AS VARCHAR), chr(30)),
        coalesce(CAST("phases" AS VARCHAR), chr(30)),
        coalesce(CAST("production_lot" AS VARCHAR), chr(30)),
        coalesce(CAST("rated_current_a" AS VARCHAR), chr(30)),
        coalesce(CAST("region" AS VARCHAR), chr(30)),
        coalesce(CAST("registered_on" AS VARCHAR), chr(30)),
        coalesce(CAST("retired_on" AS VARCHAR), chr(30)),
        coalesce(CAST("sale_type" AS VARCHAR), chr(30)),
        coalesce(CAST("serial" AS VARCHAR), chr(30)),
        coalesce(CAST("shipped_on" AS VARCHAR), chr(30)),
        coalesce(CAST("site" AS VARCHAR), chr(30)),
        coalesce(CAST("supply_connection" AS VARCHAR), chr(30)),
        coalesce(CAST("supply_system" AS VARCHAR), chr(30)),
        coalesce(CAST("warranty_extended_to" AS VARCHAR), chr(30)),
        coalesce(CAST("warranty_months" AS VARCHAR), chr(30))
    )) AS content_hash
FROM unit_versions;

CREATE VIEW shipment_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("model" AS VARCHAR), chr(30)),
        coalesce(CAST("production_lot" AS VARCHAR), chr(30)),
        coalesce(CAST("quantity" AS VARCHAR), chr(30)),
        coalesce(CAST("region" AS VARCHAR), chr(30)),
        coalesce(CAST("shipped_month" AS VARCHAR), chr(30))
    )) AS content_hash
FROM shipment_versions;

CREATE VIEW planned_sale_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("model" AS VARCHAR), chr(30)),
        coalesce(CAST("month" AS VARCHAR), chr(30)),
        coalesce(CAST("quantity" AS VARCHAR), chr(30)),
        coalesce(CAST("region" AS VARCHAR), chr(30))
    )) AS content_hash
FROM planned_sale_versions;

CREATE VIEW usage_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("connected_hours" AS VARCHAR), chr(30)),
        coalesce(CAST("energy_kwh" AS VARCHAR), chr(30)),
        coalesce(CAST("month" AS VARCHAR), chr(30)),
        coalesce(CAST("serial" AS VARCHAR), chr(30)),
        coalesce(CAST("sessions" AS VARCHAR), chr(30))
    )) AS content_hash
FROM usage_versions;

CREATE VIEW repair_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("case_id" AS VARCHAR), chr(30)),
        coalesce(CAST("cause_category" AS VARCHAR), chr(30)),
        coalesce(CAST("charger_error_codes" AS VARCHAR), chr(30)),
        coalesce(CAST("closed_on" AS VARCHAR), chr(30)),
        coalesce(CAST("confirmed_mode" AS VARCHAR), chr(30)),
        coalesce(CAST("confirmed_on" AS VARCHAR), chr(30)),
        coalesce(CAST("currency" AS VARCHAR), chr(30)),
        coalesce(CAST("disposition" AS VARCHAR), chr(30)),
        coalesce(CAST("failed_on" AS VARCHAR), chr(30)),
        coalesce(CAST("firmware_version" AS VARCHAR), chr(30)),
        coalesce(CAST("freight_cost" AS VARCHAR), chr(30)),
        coalesce(CAST("intake_findings" AS VARCHAR), chr(30)),
        coalesce(CAST("labour_minutes" AS VARCHAR), chr(30)),
        coalesce(CAST("last_known_good_on" AS VARCHAR), chr(30)),
        coalesce(CAST("mechanism" AS VARCHAR), chr(30)),
        coalesce(CAST("opened_before_arrival" AS VARCHAR), chr(30)),
        coalesce(CAST("parts_cost" AS VARCHAR), chr(30)),
        coalesce(CAST("parts_used" AS VARCHAR), chr(30)),
        coalesce(CAST("received_on" AS VARCHAR), chr(30)),
        coalesce(CAST("replaced_by_serial" AS VARCHAR), chr(30)),
        coalesce(CAST("serial" AS VARCHAR), chr(30)),
        coalesce(CAST("symptom_text" AS VARCHAR), chr(30)),
        coalesce(CAST("symptoms" AS VARCHAR), chr(30)),
        coalesce(CAST("symptoms_denied" AS VARCHAR), chr(30)),
        coalesce(CAST("technician" AS VARCHAR), chr(30))
    )) AS content_hash
FROM repair_versions;

CREATE VIEW reading_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("ambient_c" AS VARCHAR), chr(30)),
        coalesce(CAST("case_id" AS VARCHAR), chr(30)),
        coalesce(CAST("check" AS VARCHAR), chr(30)),
        coalesce(CAST("condition" AS VARCHAR), chr(30)),
        coalesce(CAST("instrument" AS VARCHAR), chr(30)),
        coalesce(CAST("minutes" AS VARCHAR), chr(30)),
        coalesce(CAST("outcome" AS VARCHAR), chr(30)),
        coalesce(CAST("point" AS VARCHAR), chr(30)),
        coalesce(CAST("sequence" AS VARCHAR), chr(30)),
        coalesce(CAST("stage" AS VARCHAR), chr(30)),
        coalesce(CAST("taken_at" AS VARCHAR), chr(30)),
        coalesce(CAST("unit" AS VARCHAR), chr(30)),
        coalesce(coalesce(CAST(TRY_CAST(value AS DOUBLE) AS VARCHAR), CAST("value" AS VARCHAR)), chr(30))
    )) AS content_hash
FROM reading_versions;

CREATE VIEW status_contents AS
SELECT
    *,
    md5(concat_ws(
        chr(31),
        coalesce(CAST("message" AS VARCHAR), chr(30)),
        coalesce(CAST("received_at" AS VARCHAR), chr(30)),
        coalesce(CAST("serial" AS VARCHAR), chr(30))
    )) AS content_hash
FROM status_versions;
