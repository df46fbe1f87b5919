-- The first layout of the store: every version of every record, batch by batch.
--
-- A key occurs at most once per batch; the newest batch of a key is the record as it
-- stands (the views at the end). Times are UTC. Lists of codes are text with `;`
-- between, in the order given.

CREATE TABLE store_about (
    key VARCHAR PRIMARY KEY,
    value VARCHAR
);

-- Grain: one ingested file.
CREATE TABLE batches (
    batch BIGINT PRIMARY KEY,
    started_at TIMESTAMP NOT NULL,
    path VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    complete_through DATE,
    n_read BIGINT NOT NULL,
    n_accepted BIGINT NOT NULL,
    n_unchanged BIGINT NOT NULL,
    n_replaced BIGINT NOT NULL,
    n_rejected BIGINT NOT NULL
);

-- Grain: one file x field x code, problems and notices; each row counts once.
CREATE TABLE batch_problems (
    batch BIGINT NOT NULL,
    field VARCHAR NOT NULL,
    code VARCHAR NOT NULL,
    n_rows BIGINT NOT NULL
);

CREATE TABLE unit_versions (
    serial VARCHAR NOT NULL,
    model VARCHAR NOT NULL,
    hardware_revision VARCHAR,
    firmware_version VARCHAR,
    production_lot VARCHAR,
    cable_supplier VARCHAR,
    manufactured_on DATE,
    shipped_on DATE,
    in_service_on DATE,
    retired_on DATE,
    registered_on DATE,
    site VARCHAR,
    region VARCHAR,
    environment VARCHAR,
    duty VARCHAR,
    connector VARCHAR,
    phases INTEGER,
    supply_connection VARCHAR,
    cable_length_m DOUBLE,
    conductor_area_mm2 DOUBLE,
    earth_area_mm2 DOUBLE,
    rated_current_a DOUBLE,
    supply_system VARCHAR,
    ground_fault_device VARCHAR,
    warranty_months INTEGER,
    warranty_extended_to DATE,
    sale_type VARCHAR,
    content_hash VARCHAR NOT NULL,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

CREATE TABLE repair_versions (
    case_id VARCHAR NOT NULL,
    serial VARCHAR NOT NULL,
    received_on DATE NOT NULL,
    failed_on DATE,
    last_known_good_on DATE,
    symptoms VARCHAR,
    symptoms_denied VARCHAR,
    symptom_text VARCHAR,
    charger_error_codes VARCHAR,
    opened_before_arrival VARCHAR,
    intake_findings VARCHAR,
    firmware_version VARCHAR,
    confirmed_mode VARCHAR,
    mechanism VARCHAR,
    cause_category VARCHAR,
    confirmed_on DATE,
    closed_on DATE,
    disposition VARCHAR,
    replaced_by_serial VARCHAR,
    labour_minutes DOUBLE,
    parts_used VARCHAR,
    parts_cost DECIMAL(14, 4),
    freight_cost DECIMAL(14, 4),
    currency VARCHAR,
    technician VARCHAR,
    content_hash VARCHAR NOT NULL,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

-- value and unit as given; quantity is the number in the check's own unit, NULL when
-- over or under range or when only an outcome was recorded. bound says `above` or
-- `below`, and bound_quantity holds the bound if the meter showed one.
CREATE TABLE reading_versions (
    case_id VARCHAR NOT NULL,
    "check" VARCHAR NOT NULL,
    taken_at TIMESTAMP NOT NULL,
    stage VARCHAR NOT NULL,
    point VARCHAR,
    condition VARCHAR,
    sequence BIGINT NOT NULL,
    value VARCHAR,
    unit VARCHAR,
    quantity DOUBLE,
    bound VARCHAR,
    bound_quantity DOUBLE,
    outcome VARCHAR,
    instrument VARCHAR,
    ambient_c DOUBLE,
    minutes DOUBLE,
    content_hash VARCHAR NOT NULL,
    batch BIGINT NOT NULL,
    row_no BIGINT NOT NULL
);

-- Grain: one row set aside, whole; the same cells are kept once.
CREATE TABLE rejected_rows (
    rejected_row VARCHAR PRIMARY KEY,
    kind VARCHAR NOT NULL,
    batch BIGINT NOT NULL,
    path VARCHAR NOT NULL,
    row_no BIGINT NOT NULL,
    cells JSON NOT NULL,
    problems JSON NOT NULL,
    resolved_by BIGINT
);

CREATE VIEW units AS
SELECT *
FROM unit_versions
QUALIFY row_number() OVER (PARTITION BY serial ORDER BY batch DESC) = 1;

CREATE VIEW repairs AS
SELECT *
FROM repair_versions
QUALIFY row_number() OVER (PARTITION BY case_id ORDER BY batch DESC) = 1;

CREATE VIEW readings AS
SELECT *
FROM reading_versions
QUALIFY
    row_number() OVER (
        PARTITION BY case_id, "check", stage, point, condition, taken_at, sequence
        ORDER BY batch DESC
    ) = 1;
