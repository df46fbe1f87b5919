"""Laws of the bulk path: in blocks or row by row, every row fares the same."""

import datetime as dt
import tempfile
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ingest import store
from ingest.batches import Batch
from ingest.bulk.block import BulkRules, covers
from ingest.mapping.mapping_file import parse_mapping
from ingest.pipeline import Care, ingest_paths
from ingest.readers import csv_blocks
from ingest.readers.csv_file import read_csv
from ingest.readers.parquet_file import read_parquet
from ingest.readers.source import PlainBlock
from ingest.records import KINDS
from ingest.set_aside import File
from ingest.validation import validated
from tests.strategies import as_csv, hostile_cells, tables

CONTENT = {
    "versions": """
        SELECT list(x ORDER BY x) FROM (
            SELECT CAST(v AS VARCHAR) AS x FROM unit_versions AS v
            UNION ALL SELECT CAST(v AS VARCHAR) FROM repair_versions AS v
            UNION ALL SELECT CAST(v AS VARCHAR) FROM reading_versions AS v
            UNION ALL SELECT CAST(v AS VARCHAR) FROM usage_versions AS v
        )
    """,
    "others": """
        SELECT list(x ORDER BY x) FROM (
            SELECT CAST(v AS VARCHAR) AS x FROM rejected_rows AS v
            UNION ALL SELECT CAST(v AS VARCHAR) FROM batch_problems AS v
            UNION ALL SELECT CAST(v AS VARCHAR) FROM repeated_rows AS v
            UNION ALL SELECT CAST(v AS VARCHAR) FROM repeated_rejected_rows AS v
        )
    """,
}
# A real store for each example: few of them, with many rows.
few = settings(max_examples=40, deadline=None)
MAPPING = """
[columns]
Farbe = "production_lot"
[dates]
received_on = "%d.%m.%Y"
shipped_on = "%d.%m.%Y"
[codes.symptoms]
heat = "handle_hot"
[constants]
model = "A"
currency = "EUR"
"""


@contextmanager
def small_blocks(size):
    with (
        patch.object(csv_blocks, "BIG", size),
        patch.object(csv_blocks, "SIZES", (size, max(size // 4, 8))),
        patch("ingest.taking_in.ROWS_PER_CHUNK", 3),
        patch("ingest.bulk.columns.FEW", 1),
    ):
        yield


def rows_of(blocks):
    for part in blocks:
        if isinstance(part, PlainBlock):
            yield from (row for row in part.rows(part.row_nos) if row.cells)
        elif part.cells:
            yield part


@settings(max_examples=400, deadline=None)
@given(
    st.text(st.sampled_from('ab ",;\n\r\té'), max_size=120),
    st.sampled_from(["utf-8", "utf-8-sig", "cp1252"]),
    st.sampled_from([16, 40, 1 << 16]),
)
@example('a,b\n"x""y",1\n"two\nlines",2\n', "utf-8", 16)
@example('a,b\n5" pipe,1\n"ok",2\n', "utf-8", 1 << 16)
@example("a,b\n1,2,3\n4\n\n5,6", "utf-8", 1 << 16)
@example("a,b,\n1,2,\n3,4,x\n", "utf-8", 1 << 16)
def test_blocks_hold_the_same_rows_as_the_file_read_row_by_row(text, encoding, size):
    with tempfile.TemporaryDirectory() as folder, small_blocks(size):
        file = Path(folder) / "rows.csv"
        file.write_bytes(f"x,y,z\n{text}".encode(encoding))
        source = read_csv(file)

        assert list(rows_of(source.blocks())) == list(source.rows())


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=120))
def test_bytes_that_are_no_letters_damage_the_same_rows(content):
    with tempfile.TemporaryDirectory() as folder, small_blocks(32):
        file = Path(folder) / "rows.csv"
        file.write_bytes("x,ÿ,z\n".encode() + content.replace(b"\0", b""))
        source = read_csv(file)

        assert list(rows_of(source.blocks())) == list(source.rows())


VALUES = {
    pa.string(): st.sampled_from(["a", "", " ", "#N/A", "2025-01-01", "é"]),
    pa.int64(): st.integers(-(2**40), 2**40),
    pa.float64(): st.floats(allow_nan=True, width=64),
    pa.bool_(): st.booleans(),
    pa.date32(): st.dates(),
    pa.timestamp("us"): st.datetimes(),
    pa.timestamp("us", tz="UTC"): st.datetimes(timezones=st.just(dt.UTC)),
    pa.decimal128(9, 2): st.decimals(-(10**6), 10**6, places=2),
    pa.list_(pa.string()): st.lists(st.sampled_from(["a", "b"]), max_size=2),
    pa.binary(): st.binary(max_size=3),
}


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_blocks_of_a_parquet_file_hold_the_same_rows(data):
    kinds = data.draw(st.lists(st.sampled_from(list(VALUES)), min_size=1, max_size=4))
    n_rows = data.draw(st.integers(0, 12))
    columns = {}
    for number, kind in enumerate(kinds):
        cells = st.lists(st.none() | VALUES[kind], min_size=n_rows, max_size=n_rows)
        columns[f"c{number}"] = pa.array(data.draw(cells), kind)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "rows.parquet"
        pq.write_table(pa.table(columns), file)
        with patch("ingest.readers.parquet_file.ROWS_AT_ONCE", 5):
            source = read_parquet(file)
            in_blocks = list(rows_of(source.blocks()))
            one_by_one = [row for row in source.rows() if row.cells]

    assert in_blocks == one_by_one


@pytest.mark.parametrize("kind", [k for k, spec in KINDS.items() if covers(spec)])
@settings(max_examples=60, deadline=None)
@given(st.data())
def test_what_passes_in_a_block_passes_the_model_with_the_same_values(kind, data):
    spec = KINDS[kind]
    row = st.fixed_dictionaries({n: hostile_cells(spec, n) for n in spec.fields})
    rows = data.draw(st.lists(row, min_size=1, max_size=30))
    cells = {
        name: pa.array([row[name] for row in rows], pa.string()) for name in spec.fields
    }
    with store.open_in_memory() as connection, patch("ingest.bulk.columns.FEW", 1):
        types = Batch(connection, spec, File("x", (), {})).types

        judged = BulkRules(spec, types).judge(cells, len(rows))

    alone = [
        validated(spec, {n: c for n, c in row.items() if c and not c.isspace()})
        for row in rows
    ]
    expected = [not isinstance(found, list) for found in alone]
    assert judged.sure.tolist() == expected
    kept = [tuple(row.values()) for row in judged.staged.to_pylist()]
    assert kept == [spec.values(f) for f in alone if not isinstance(f, list)]


@few
@given(
    st.lists(tables(), min_size=1, max_size=3),
    st.sampled_from(",;\t"),
    st.sampled_from([None, MAPPING]),
    st.booleans(),
)
def test_a_store_filled_in_blocks_is_the_one_filled_row_by_row(
    some, delimiter, mapping, mask
):
    stores = []
    for in_blocks in (True, False):
        with tempfile.TemporaryDirectory() as name, small_blocks(128):
            folder = Path(name)
            reports = []
            for number, table in enumerate(some):
                file = folder / f"{number}.csv"
                text = as_csv(table, delimiter)
                if mapping:
                    text = text.replace("colour", "Farbe", 1)
                file.write_text(text, encoding="utf-8", newline="")
                report = ingest_paths(
                    folder / "store.duckdb",
                    [file],
                    mapping=parse_mapping(mapping, name="m.toml") if mapping else None,
                    in_blocks=in_blocks,
                    care=Care(mask=mask),
                )
                told = report.files[0]
                reports.append((told.read, told.problems, told.notices, told.rejected))
            with store.open_for_writing(folder / "store.duckdb") as connection:
                content = [connection.sql(q).fetchall() for q in CONTENT.values()]
            stores.append((str(reports), str(content).replace(str(folder), "")))

    assert stores[0] == stores[1]
