"""Parquet: typed values as the text they stand for, and files that are damaged."""

import datetime as dt
from decimal import Decimal

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from ingest import readers
from ingest.errors import FileError
from ingest.readers.source import NoValue


def read(path):
    (source,) = readers.read(path)
    return source


def rows(path):
    return list(read(path).rows())


def test_a_parquet_file_gives_the_same_texts(tmp_path):
    path = tmp_path / "rows.parquet"
    table = pa.table(
        {
            "serial": ["U-1", "U-2"],
            "shipped_on": pa.array([dt.date(2025, 1, 2), None]),
            "length": [7.5, None],
            "cost": pa.array([Decimal("1.50"), None], pa.decimal128(6, 2)),
            "symptoms": [["handle_hot", "humming"], None],
        }
    )
    pq.write_table(table, path)

    source = read(path)

    assert source.total == 2
    assert [(row.row_no, row.cells) for row in source.rows()] == [
        (
            2,
            {
                "serial": "U-1",
                "shipped_on": "2025-01-02",
                "length": "7.5",
                "cost": "1.50",
                "symptoms": "handle_hot;humming",
            },
        ),
        (3, {"serial": "U-2"}),
    ]


def test_a_parquet_value_that_cannot_be_read_is_told_in_its_cell(tmp_path):
    path = tmp_path / "rows.parquet"
    latin = pa.py_buffer(b"K\xf6lnBonn")
    ends = pa.py_buffer(b"\0\0\0\0\4\0\0\0\x08\0\0\0")
    table = pa.table(
        {
            "site": pa.StringArray.from_buffers(2, ends, latin),
            "shipped_on": pa.array([3_000_000, 1], pa.int32()).cast(pa.date32()),
        }
    )
    pq.write_table(table, path)

    assert [row.cells for row in rows(path)] == [
        {
            "site": NoValue(r"K\xf6ln"),
            "shipped_on": NoValue("a date32[day] beyond what can be read"),
        },
        {"site": "Bonn", "shipped_on": "1970-01-02"},
    ]


def test_a_parquet_file_without_a_column_is_refused(tmp_path):
    path = tmp_path / "rows.parquet"
    pq.write_table(pa.table({}), path)

    with pytest.raises(FileError, match="has no column with a name"):
        read(path)


def test_a_parquet_file_whose_names_are_no_text_is_refused(tmp_path):
    path = tmp_path / "rows.parquet"
    pq.write_table(pa.table({"serial": ["U-1"]}), path)
    path.write_bytes(path.read_bytes().replace(b"serial", b"seria\x80"))

    with pytest.raises(FileError, match="is not a Parquet file that can be read"):
        read(path)


@pytest.mark.parametrize("reading", [False, True])
def test_a_parquet_file_that_may_not_be_read_is_said_to_be_so(
    tmp_path, monkeypatch, reading
):
    path = tmp_path / "rows.parquet"
    pq.write_table(pa.table({"serial": ["U-1"]}), path)
    opened = read(path) if reading else None

    def refuse(*_args, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(pq, "ParquetFile", refuse)

    with pytest.raises(FileError, match="cannot be read: Permission denied"):
        list(opened.rows()) if reading else read(path)


def test_a_file_that_is_no_parquet_is_refused(tmp_path):
    path = tmp_path / "rows.parquet"
    path.write_bytes(b"PAR1 and then nothing")

    with pytest.raises(FileError, match="is not a Parquet file that can be read"):
        read(path)


def test_a_parquet_file_damaged_inside_is_refused_when_read(tmp_path):
    path = tmp_path / "rows.parquet"
    pq.write_table(pa.table({"serial": [f"U-{n}" for n in range(5000)]}), path)
    content = bytearray(path.read_bytes())
    content[4:2000] = b"\xff" * 1996
    path.write_bytes(content)

    with pytest.raises(FileError, match="is not a Parquet file that can be read"):
        list(read(path).rows())
