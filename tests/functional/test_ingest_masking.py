"""Personal data in rows that are hard to read: masked all the same, counted once."""

import pytest

from ingest.mapping.mapping_file import parse_mapping
from ingest.pipeline import Care, ingest_paths
from tests.small_files import asked, ingested, write_csv

CELLS = "SELECT cells FROM rejected_rows"


BROKEN_CSV = """case_id,serial,received_on,symptom_text
R1,U-001,2026-01-02,"call +49 30 1234567" or a.b@workshop.example
"""
BROKEN_LINES = """{"serial":"U-001","model":"A"}
{"serial":"U-002","site":"+49 30 1234567, a.b@workshop.example"
"""


@pytest.mark.parametrize(
    ("name", "text"), [("repairs.csv", BROKEN_CSV), ("units.jsonl", BROKEN_LINES)]
)
def test_a_row_that_cannot_be_cut_into_cells_is_masked_as_a_whole(tmp_path, name, text):
    # All of such a row is kept in its first column, here one that names a case or unit.
    report = ingested(tmp_path, text, name=name)

    ((cells,),) = asked(tmp_path, CELLS)
    assert "1234567" not in cells
    assert "workshop" not in cells
    first = "case_id" if name == "repairs.csv" else "serial"
    assert report.problems[first] == {"malformed_row": 1, "personal_data_masked": 1}


def test_a_duplicate_with_a_kept_column_of_its_own_is_counted_as_masked_once(tmp_path):
    text = "serial,model,note\nU-001,A,+49 30 1234567\nU-001,B,+49 30 1234567\n"
    file = write_csv(tmp_path, "units.csv", text)

    (report,) = ingest_paths(
        tmp_path / "store.duckdb", [file], care=Care(keep_unknown=True)
    ).files

    assert report.rejected == 1
    assert report.problems["note"] == {"unknown_column": 2, "personal_data_masked": 2}


def test_a_column_called_as_one_left_out_is_told_keeps_its_cell(tmp_path):
    mapping = parse_mapping('[columns]\nS = "serial"\nserial = ""\n', name="m.toml")
    file = write_csv(tmp_path, "units.csv", "S,serial,model,column serial\n?,x,A,y\n")

    (report,) = ingest_paths(tmp_path / "store.duckdb", [file], mapping=mapping).files

    assert report.rejected == 1
    ((cells,),) = asked(tmp_path, CELLS)
    assert cells == '{"S": "?", "serial": "x", "model": "A", "column serial": "y"}'


def test_a_cell_too_many_does_not_take_the_place_of_a_column_called_so(tmp_path):
    ingested(tmp_path, "serial,model,extra_cell_1\nU-001,A,mine,more\n")

    ((cells,),) = asked(tmp_path, CELLS)
    assert cells == (
        '{"serial": "U-001", "model": "A", "extra_cell_1": "mine", '
        '"extra_cell_2": "more"}'
    )
