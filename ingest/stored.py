"""What the store holds, asked for by key: versions, files, rows set aside."""

from typing import Any

import duckdb

REJECTED = """
SELECT rejected_row, kind, path, row_no, cells, problems FROM rows_set_aside
WHERE resolved_by IS NULL
ORDER BY batch, row_no
"""

REJECTED_NAMING = """
SELECT rejected_row, kind, path, row_no, cells, problems FROM rows_set_aside
WHERE
    resolved_by IS NULL
    AND list_contains($kinds, kind)
    AND upper(trim(json_extract_string(cells, $field))) = upper($value)
ORDER BY batch, row_no
"""

# How rows set aside were read when they came last: that is how they are read again.
WAYS_OF_READING = """
SELECT
    set_aside.rejected_row,
    set_aside.kind,
    set_aside.read_as,
    batches.mapping,
    coalesce(batches.decimal_comma, false) AS decimal_comma
FROM rows_set_aside AS set_aside
LEFT JOIN batches ON set_aside.read_as = batches.batch
WHERE set_aside.rejected_row IN (SELECT unnest($rejected_rows))
ORDER BY set_aside.rejected_row
"""

FILES = """
SELECT path FROM batches
WHERE undone_at IS NULL
ORDER BY batch
"""

UNIT_VERSIONS = """
SELECT version.*, batches.path, batches.started_at
FROM unit_versions AS version
INNER JOIN batches ON version.batch = batches.batch
WHERE version.serial = $value
ORDER BY version.batch
"""

CASE_VERSIONS = """
SELECT version.*, batches.path, batches.started_at
FROM repair_versions AS version
INNER JOIN batches ON version.batch = batches.batch
WHERE version.case_id = $value
ORDER BY version.batch
"""

# The cells of unknown columns of the rows asked for, if they were kept.
UNKNOWN_CELLS = """
SELECT batch, row_no, field, cell FROM unknown_cells
INNER JOIN (
    SELECT unnest($batches) AS batch, unnest($rows) AS row_no
) AS wanted USING (batch, row_no)
"""

CASES_OF_UNIT = """
SELECT * FROM repairs
WHERE serial = $value
ORDER BY received_on, case_id
"""

READINGS_OF_CASE = """
SELECT * FROM readings
WHERE case_id = $value
ORDER BY taken_at, "check", point, condition, sequence
"""


def ask(
    connection: duckdb.DuckDBPyConnection, question: str, **parameters: object
) -> list[dict[str, Any]]:
    """Return the rows of an answer, each as its values by column name."""
    answer = connection.execute(question, parameters)
    names = [column[0] for column in answer.description or []]
    return [dict(zip(names, row, strict=True)) for row in answer.fetchall()]
