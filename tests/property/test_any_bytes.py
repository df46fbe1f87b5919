"""Law: whatever the bytes of a file, reading it ends in rows or in a sentence.

ANY_BYTES_EXAMPLES in the environment says how many examples each suffix gets.
"""

import csv
import gzip
import io
import json
import os
import tempfile
import zipfile
from functools import cache
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import xlsxwriter
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ingest.errors import UserError
from ingest.pipeline import ingest_paths
from ingest.readers import READERS, read
from ingest.readers.packed import unpacked

N_EXAMPLES = int(os.environ.get("ANY_BYTES_EXAMPLES", "100"))
SUFFIXES = [*sorted({*READERS} - {".gz"}), ".csv.gz", ".json.gz", ".xlsx.gz"]
UNITS = [
    {"serial": "U-001", "model": "Ä 11", "shipped_on": "2025-01-02", "note": "7,5"},
    {"serial": "U-002", "model": 'B "2"', "shipped_on": "", "note": "two\nlines"},
    {"serial": "u-001", "model": "C", "shipped_on": "02.01.2025", "note": "1;2"},
]
# Where formats begin, so that bytes get past the first look.
BEGINNINGS = [
    b"", b"PK\x03\x04", b"PAR1", b"\x1f\x8b\x08\x00", b"\xef\xbb\xbf", b"\xff\xfe",
    b"\xfe\xff", b"[", b"[{", b'{"a":', b"serial,model\n", b'serial;model\r\n"',
]  # fmt: skip

many = settings(max_examples=N_EXAMPLES, deadline=None)
few = settings(max_examples=max(N_EXAMPLES // 8, 5), deadline=None)


def as_csv():
    out = io.StringIO()
    writer = csv.DictWriter(out, list(UNITS[0]), delimiter=";")
    writer.writeheader()
    writer.writerows(UNITS)
    return out.getvalue().encode()


def as_xlsx():
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Units")
        date = book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_row(0, 0, list(UNITS[0]))
        for row_no, unit in enumerate(UNITS, start=1):
            sheet.write_row(row_no, 0, list(unit.values()))
        sheet.write_number(4, 2, 45000.5, date)
        sheet.write_formula(4, 3, "=1/0", value="#DIV/0!")
        sheet.write_boolean(4, 4, boolean=True)
    return out.getvalue()


def as_parquet():
    out = io.BytesIO()
    table = pa.table(
        {name: [unit[name] for unit in UNITS] for name in UNITS[0]}
        | {"days": pa.array([1, None, 20000], pa.date32()), "of": [["a"], [], None]}
    )
    pq.write_table(table, out)
    return out.getvalue()


def as_json():
    return json.dumps([{**unit, "n": [1.5, {"a": None}]} for unit in UNITS]).encode()


def as_json_lines():
    return "\n".join(json.dumps(unit, ensure_ascii=False) for unit in UNITS).encode()


def as_zip(**members):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


@cache
def valid(suffix):
    """Return a good file of units of that suffix."""
    if suffix == ".zip":
        return as_zip(**{"units.csv": as_csv(), "more/units.json": as_json()})
    if suffix.endswith(".gz"):
        return gzip.compress(valid(suffix.removesuffix(".gz")), mtime=0)
    made = {".xlsx": as_xlsx, ".parquet": as_parquet, ".json": as_json}
    lines = {".jsonl": as_json_lines, ".ndjson": as_json_lines}
    return (made | lines).get(suffix, as_csv)()


@cache
def parts_of_workbook():
    with zipfile.ZipFile(io.BytesIO(as_xlsx())) as parts:
        return {name: parts.read(name) for name in parts.namelist()}


@st.composite
def damaged(draw, content):
    """Return bytes with some of them changed, put in, taken out or repeated."""
    data = bytearray(content)
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(data)))
        size = draw(st.integers(1, 12))
        how = draw(st.sampled_from(["change", "put in", "take out", "repeat", "cut"]))
        if how == "change":
            data[place : place + size] = draw(st.binary(min_size=size, max_size=size))
        elif how == "put in":
            data[place:place] = draw(st.binary(min_size=1, max_size=size))
        elif how == "take out":
            del data[place : place + size]
        elif how == "repeat":
            data[place:place] = data[max(place - size, 0) : place]
        else:
            del data[place:]
    return bytes(data)


def files_of(suffix):
    """Return bytes for a file of that suffix: of any kind, or nearly right ones."""
    beginnings = st.sampled_from(BEGINNINGS)
    any_bytes = st.tuples(beginnings, st.binary(max_size=300)).map(b"".join)
    return any_bytes | damaged(valid(suffix))


@st.composite
def workbooks(draw):
    """Return a workbook that unpacks well, and has one part that is damaged."""
    parts = dict(parts_of_workbook())
    likely = ["xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/workbook.xml"]
    name = draw(st.sampled_from(likely) | st.sampled_from(sorted(parts)))
    if draw(st.booleans()):
        # A number or name that is wrong in XML that is right.
        old = draw(
            st.sampled_from([b"1", b"2", b"3", b"A", b"s", b"n", b'"', b"Sheet"])
        )
        new = draw(
            st.sampled_from([b"", b"-1", b"9" * 9, b"1e99", b"ZZZ", b"\xff", b"x"])
        )
        parts[name] = parts[name].replace(old, new, draw(st.integers(1, 40)))
    else:
        parts[name] = draw(damaged(parts[name]))
    return as_zip(**parts)


def read_to_the_end(suffix, content):
    """Read a file as ingest does; a refusal must be one that a person can act on."""
    n_rows, refusals = 0, []
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, f"units{suffix}")
        path.write_bytes(content)
        try:
            files = unpacked(path, Path(name))
        except UserError:
            return None
        for shown, file in files:
            try:
                for source in read(file, shown=shown):
                    "".join(source.columns).encode()
                    for row in source.rows():
                        n_rows += 1
                        # What cannot be UTF-8 cannot be stored either.
                        "".join([*row.cells, *map(str, row.cells.values())]).encode()
                        assert row.problem is None or row.cells
                    for _ in source.blocks() if source.blocks else ():
                        pass
            except UserError as error:
                refusals.append((shown, error))
    for shown, error in refusals:
        assert error.hint
        assert error.message.startswith(shown)
    return n_rows


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_the_good_file_that_is_damaged_below_is_read(suffix):
    assert read_to_the_end(suffix, valid(suffix)) in {3, 4, 6}


@pytest.mark.parametrize("suffix", SUFFIXES)
@many
@given(data=st.data())
def test_any_bytes_end_in_rows_or_in_a_sentence(suffix, data):
    read_to_the_end(suffix, data.draw(files_of(suffix)))


@settings(max_examples=4 * N_EXAMPLES, deadline=None)
@given(workbooks())
def test_a_workbook_with_a_damaged_part_ends_in_rows_or_in_a_sentence(content):
    read_to_the_end(".xlsx", content)


@settings(max_examples=4 * N_EXAMPLES, deadline=None)
@given(damaged(as_parquet()))
def test_a_damaged_parquet_file_ends_in_rows_or_in_a_sentence(content):
    read_to_the_end(".parquet", content)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inside: (
        st.lists(inside, max_size=4)
        | st.dictionaries(st.text(max_size=3), inside, max_size=4)
    ),
    max_leaves=12,
)


@pytest.mark.parametrize("suffix", [".json", ".jsonl"])
@settings(max_examples=3 * N_EXAMPLES, deadline=None)
@given(values=st.lists(JSON, max_size=5), escaped=st.booleans())
@example(values=[{"\ud800": "\udfff"}], escaped=True)
def test_any_json_ends_in_rows_or_in_a_sentence(suffix, values, escaped):
    texts = [json.dumps(value, ensure_ascii=escaped) for value in values]
    text = "\n".join(texts) if suffix == ".jsonl" else f"[{','.join(texts)}]"

    n_rows = read_to_the_end(suffix, text.encode("utf-8", "surrogatepass"))

    # Every value is a row, if it has to be one of a file without any name.
    assert n_rows in {0, len(values)}


@pytest.mark.parametrize("suffix", SUFFIXES)
@few
@given(data=st.data())
def test_any_bytes_are_taken_in_or_reported_and_never_raise(suffix, data):
    content = data.draw(files_of(suffix))
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, f"units{suffix}")
        path.write_bytes(content)

        report = ingest_paths(Path(name, "store.duckdb"), [path], dry_run=True)

    for file in report.files:
        assert file.error is None or file.error.hint
        assert file.read == (
            file.accepted + file.unchanged + file.replaced + file.rejected
        )
