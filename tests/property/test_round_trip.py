"""Law: a table written in any format that is read comes back cell for cell."""

import csv
import gzip
import io
import json
import tempfile
import zipfile
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.readers import read
from ingest.readers.packed import unpacked

NAMES = ["serial", 'the "note"', "Größe, mm", "a;b"]
# What no format carries: halves of letters, and the byte that makes a file binary.
LETTERS = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
# XML leaves these two out as well.
XML_LETTERS = st.characters(
    exclude_categories=["Cs"], exclude_characters="\0\ufffe\uffff"
)
# Windows-1252 letters of which no two make up one of UTF-8: what is both is ambiguous.
CP1252_LETTERS = st.sampled_from('aZ 0;,\t"\r\nÄÖÜßéñøÿ')
# Characters that a format gives a meaning to, more often than chance would.
TRICKY = st.sampled_from(
    ["", " ", '"', '""', ",", ";", "\t", "\n", "\r\n", "\r", "'", "\\", "00123", "7,5",
     "1e5", "true", "null", "NaN", "=1+1", "_x0041_", "\ufeff", "\u2028", "ä", "\x1c"],
)  # fmt: skip
some = settings(max_examples=40, deadline=None)


def tables(letters=LETTERS, tricky=TRICKY):
    cells = st.one_of(st.text(letters, max_size=8), tricky)
    row = st.tuples(*[cells] * len(NAMES))
    return st.lists(row, max_size=6)


def as_csv(table, delimiter, encoding):
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(NAMES)
    writer.writerows(table)
    return out.getvalue().encode(encoding)


def as_xlsx(table):
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet()
        for row_no, row in enumerate([NAMES, *table]):
            for column_no, cell in enumerate(row):
                sheet.write_string(row_no, column_no, cell)
    return out.getvalue()


def as_parquet(table):
    out = io.BytesIO()
    columns = [pa.array([row[n] for row in table], pa.string()) for n in range(4)]
    pq.write_table(pa.table(columns, names=NAMES), out)
    return out.getvalue()


def as_json(table, *, lines=False, escaped=True):
    objects = [dict(zip(NAMES, row, strict=True)) for row in table]
    texts = [json.dumps(one, ensure_ascii=escaped) for one in objects]
    text = "\n".join(texts) if lines else f"[{', '.join(texts)}]"
    return text.encode()


def as_zip(content):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("returns/rows.csv", content)
    return out.getvalue()


def read_back(suffix, content):
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, f"rows{suffix}")
        path.write_bytes(content)
        ((_, file),) = unpacked(path, Path(name))
        (source,) = read(file)
        rows = list(source.rows())
    assert source.columns == tuple(NAMES)
    assert [row.problem for row in rows] == [None] * len(rows)
    return recorded([row.cells for row in rows])


def recorded(rows):
    """Return what counts as recorded: blank cells and rows of them do not."""
    cells = [{k: v for k, v in row.items() if v and not v.isspace()} for row in rows]
    return [row for row in cells if row]


def expected(table):
    return recorded([dict(zip(NAMES, row, strict=True)) for row in table])


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@some
@given(table=tables())
def test_csv_of_any_letters_comes_back(delimiter, encoding, table):
    content = as_csv(table, delimiter, encoding)

    assert read_back(".csv", content) == expected(table)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@some
@given(table=tables(CP1252_LETTERS, st.just("Ärger")))
def test_csv_in_windows_1252_comes_back(delimiter, table):
    content = as_csv(table, delimiter, "cp1252")

    assert read_back(".csv", content) == expected(table)


@some
@given(table=tables(XML_LETTERS))
def test_xlsx_comes_back(table):
    assert read_back(".xlsx", as_xlsx(table)) == expected(table)


@some
@given(table=tables())
def test_parquet_comes_back(table):
    assert read_back(".parquet", as_parquet(table)) == expected(table)


@pytest.mark.parametrize("suffix", [".json", ".jsonl"])
@some
@given(table=tables().filter(bool), escaped=st.booleans())
def test_json_comes_back(suffix, table, escaped):
    content = as_json(table, lines=suffix == ".jsonl", escaped=escaped)

    assert read_back(suffix, content) == expected(table)


@pytest.mark.parametrize(
    ("suffix", "write"),
    [
        (".csv.gz", lambda table: gzip.compress(as_csv(table, ";", "utf-8"))),
        (".xlsx.gz", lambda table: gzip.compress(as_xlsx(table))),
        (".parquet.gz", lambda table: gzip.compress(as_parquet(table))),
        (".zip", lambda table: as_zip(as_csv(table, ",", "utf-16"))),
    ],
)
@settings(max_examples=15, deadline=None)
@given(table=tables(XML_LETTERS))
def test_packed_files_come_back(suffix, write, table):
    assert read_back(suffix, write(table)) == expected(table)
