import csv
import io
import json

import openpyxl
import pyarrow.parquet as pq
import pytest

from dashboard import exports
from dashboard.filters import Filters
from dashboard.queries.answer import Answer
from ingest.errors import UsageError

ROWS = [
    {
        "mode": "handle_pilot_open",
        "share": 0.25,
        "cells": {"a": None},
        "why": ["x", "y"],
    },
    {"mode": "=1+1", "share": None, "cells": {}, "why": []},
]


def answer(rows=ROWS):
    return Answer(
        about=None,
        filters=Filters(component=("handle",)),
        method="counts",
        rows=rows,
        invented=True,
    )


def read_csv(content, delimiter=","):
    return list(
        csv.DictReader(io.StringIO(content.decode("utf-8-sig")), delimiter=delimiter)
    )


def test_every_row_says_where_it_comes_from():
    row = read_csv(exports.as_csv(answer()))[0]

    assert row["data"] == "invented data"
    assert row["filters"] == "component: handle"
    assert row["cells"] == '{"a": null}'
    assert row["why"] == "x; y"


def test_a_cell_that_a_spreadsheet_would_run_is_quoted():
    assert read_csv(exports.as_csv(answer()))[1]["mode"] == "'=1+1"


def test_with_semicolons_numbers_have_a_decimal_comma():
    rows = read_csv(exports.as_csv(answer(), dialect="semicolon"), ";")

    assert [row["share"] for row in rows] == ["0,25", ""]


def test_a_workbook_holds_the_table_and_what_it_is():
    book = openpyxl.load_workbook(io.BytesIO(exports.as_xlsx(answer())))

    table = list(book["table"].iter_rows(values_only=True))
    notes = dict(book["what this is"].iter_rows(values_only=True))
    assert table[0][:2] == ("mode", "share")
    assert table[1][:2] == ("handle_pilot_open", 0.25)
    assert table[2][0] == "=1+1"
    assert notes["method"] == "counts"
    assert notes["data"] == "invented data"


def test_parquet_holds_the_table_and_what_it_is():
    table = pq.read_table(io.BytesIO(exports.as_parquet(answer())))

    assert table["share"].to_pylist() == [0.25, None]
    assert table.schema.metadata[b"data"] == b"invented data"


def test_json_is_the_whole_answer():
    document = json.loads(exports.as_json(answer()))

    assert document["rows"][0]["share"] == 0.25
    assert document["data"] == "invented data"


def test_an_empty_table_still_says_what_it_is():
    header = exports.as_csv(answer(rows=[])).decode("utf-8-sig").splitlines()

    assert header == ["snapshot,as_of,filters,data"]


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".parquet", ".json"])
def test_the_ending_of_the_name_chooses_the_kind(tmp_path, suffix):
    out = tmp_path / "new" / f"table{suffix}"

    exports.write(answer(), out)

    assert out.stat().st_size > 0


def test_another_ending_is_refused_by_name(tmp_path):
    with pytest.raises(UsageError, match=r"table\.pdf: a table can be written as"):
        exports.write(answer(), tmp_path / "table.pdf")
