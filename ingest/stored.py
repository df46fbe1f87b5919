"""What the store holds, asked for by key: versions, files, rows set aside."""

from typing import Any

import duckdb

# How a row set aside was read when it came last: that is how it is read again.
_READ_LAST = """
WITH came_last AS (
    SELECT rejected_row, max(batch) AS batch FROM (
        SELECT rejected_row, batch FROM rejected_rows
        UNION ALL
        SELECT rejected_row, batch FROM repeated_rejected_rows
    )
    GROUP BY rejected_row
),

read_last AS (
    SELECT
        came_last.rejected_row,
        batches.mapping,
        coalesce(batches.decimal_comma, false) AS decimal_comma
    FROM came_last INNER JOIN batches ON came_last.batch = batches.batch
)
"""

REJECTED = f"""
{_READ_LAST}
SELECT
    waiting.rejected_row,
    waiting.kind,
    waiting.path,
    waiting.row_no,
    waiting.cells,
    waiting.problems,
    read_last.mapping,
    coalesce(read_last.decimal_comma, false) AS decimal_comma
FROM rejected_rows AS waiting
LEFT JOIN read_last ON waiting.rejected_row = read_last.rejected_row
WHERE waiting.resolved_by IS NULL
ORDER BY waiting.batch, waiting.row_no
"""  # noqa: S608 - no part of it is a value

REJECTED_NAMING = """
SELECT rejected_row, kind, path, row_no, cells, problems FROM rejected_rows
WHERE
    resolved_by IS NULL
    AND list_contains($kinds, kind)
    AND upper(trim(json_extract_string(cells, $field))) = upper($value)
ORDER BY batch, row_no
"""

WAYS_OF_READING = f"""
{_READ_LAST}
SELECT DISTINCT mapping, decimal_comma FROM read_last
WHERE rejected_row IN (SELECT unnest($rejected_rows))
"""  # noqa: S608 - no part of it is a value

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
