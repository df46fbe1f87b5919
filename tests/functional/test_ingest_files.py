"""Files in, rows in the store: each row accepted, unchanged, replaced or set aside."""

import datetime as dt
import json
import time

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq

from ingest.pipeline import ingest_paths
from tests.small_files import asked, counts, ingested, write_csv

UNITS = "serial,model,in_service_on\nU-001,A,2025-01-01\nU-002,B,\n"
REPAIRS = "case_id,serial,received_on\nR1,U-001,2025-06-01\n"
READINGS = (
    "case_id,check,taken_at,stage,value,unit,outcome\n"
    "R1,pilot_continuity,2025-06-02,intake,2500,mohm,\n"
    "R1,visual_inspection,2025-06-02,intake,,,fail\n"
)

EVERYTHING = """
SELECT
    (SELECT count(*) FROM batches), (SELECT count(*) FROM batch_problems),
    (SELECT count(*) FROM unit_versions), (SELECT count(*) FROM rejected_rows)
"""


def test_rows_of_all_kinds_reach_the_store(tmp_path):
    files = [
        write_csv(tmp_path, "units.csv", UNITS),
        write_csv(tmp_path, "repairs.csv", REPAIRS),
        write_csv(tmp_path, "readings.csv", READINGS),
    ]

    report = ingest_paths(tmp_path / "store.duckdb", files)

    assert [file.kind for file in report.files] == ["units", "repairs", "readings"]
    assert [file.accepted for file in report.files] == [2, 1, 2]
    assert report.exit_code == 0
    assert asked(tmp_path, "SELECT serial, model, in_service_on FROM units") == [
        ("U-001", "A", dt.date(2025, 1, 1)),
        ("U-002", "B", None),
    ]
    assert asked(
        tmp_path, 'SELECT "check", value, unit, quantity, outcome FROM readings'
    ) == [
        ("pilot_continuity", "2500", "mohm", 2.5, None),
        ("visual_inspection", None, None, None, "fail"),
    ]


def test_the_same_file_twice_changes_nothing(tmp_path):
    bad = UNITS + "?,C,\nU-001,Z,\n"
    first = ingested(tmp_path, bad)
    before = asked(tmp_path, EVERYTHING)

    again = ingested(tmp_path, bad)

    assert counts(first) == (4, 2, 0, 0, 2)
    assert counts(again) == (4, 0, 2, 0, 2)
    assert again.batch == first.batch
    assert asked(tmp_path, EVERYTHING) == before


def test_the_same_rows_in_another_file_are_unchanged_in_a_batch_of_its_own(tmp_path):
    first = ingested(tmp_path, UNITS)

    other = ingested(tmp_path, UNITS.replace(",", ";"), name="again.csv")

    assert counts(other) == (2, 0, 2, 0, 0)
    assert other.batch == first.batch + 1


def test_other_content_of_a_key_replaces_and_keeps_the_older_version(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n")

    report = ingested(tmp_path, "serial,model\nu-001,B\n")

    assert counts(report) == (1, 0, 0, 1, 0)
    assert asked(tmp_path, "SELECT model, batch FROM units") == [("B", 2)]
    versions = asked(tmp_path, "SELECT model, batch FROM unit_versions ORDER BY batch")
    assert versions == [("A", 1), ("B", 2)]


def test_content_stored_before_is_unchanged_even_if_replaced_since(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n")
    ingested(tmp_path, "serial,model\nU-001,B\n")

    report = ingested(tmp_path, "serial,model\nU-001,A\n")

    assert counts(report) == (1, 0, 1, 0, 0)
    assert asked(tmp_path, "SELECT model FROM units") == [("B",)]


def test_numbers_written_in_another_way_are_the_same_content(tmp_path):
    ingested(tmp_path, "serial,model,cable_length_m\nU-001,A,7.5\n")

    report = ingested(tmp_path, "serial,model,cable_length_m\nU-001,A,7.50\n")

    assert counts(report) == (1, 0, 1, 0, 0)


def test_in_one_file_the_first_row_of_a_key_stands(tmp_path):
    report = ingested(
        tmp_path, "serial,model\nU-001,A\nU-002,A\nu-001,A\nU-001,B\nU-001,A\n"
    )

    assert counts(report) == (5, 2, 2, 0, 1)
    assert report.problems == {"serial": {"duplicate_key_in_file": 1}}
    ((cells, problems),) = asked(tmp_path, "SELECT cells, problems FROM rejected_rows")
    assert json.loads(cells) == {"serial": "U-001", "model": "B"}
    assert json.loads(problems)[0]["message"] == (
        "row 2 of this file has the same serial and other content"
    )


def test_the_first_row_of_a_key_stands_over_many_chunks(tmp_path, monkeypatch):
    monkeypatch.setattr("ingest.taking_in.ROWS_PER_CHUNK", 2)
    rows = [f"U-{n:03},A" for n in range(5)]
    text = "\n".join(["serial,model", *rows, "U-000,B", "U-001,A", ""])

    report = ingested(tmp_path, text)

    assert counts(report) == (7, 5, 1, 0, 1)


def test_readings_differ_by_point_condition_stage_and_sequence(tmp_path):
    head = "case_id,check,taken_at,stage,point,condition,sequence,outcome\n"
    same = "R1,visual_inspection,2025-06-02,"
    rows = [
        "intake,,,,pass", "intake,PE,,,fail", "intake,,wet,,fail",
        "diagnosis,,,,fail", "intake,,,2,fail", "intake,,,1,pass",
    ]  # fmt: skip

    report = ingested(tmp_path, head + "\n".join(same + row for row in rows))

    assert counts(report) == (6, 5, 1, 0, 0)


def test_only_bad_rows_are_kept_whole_with_all_their_problems(tmp_path):
    text = "serial,model,shipped_on,note\n?,,soon,keep me\n"

    report = ingested(tmp_path, text)

    assert counts(report) == (1, 0, 0, 0, 1)
    assert report.problems == {
        "serial": {"bad_pattern": 1},
        "model": {"missing": 1},
        "shipped_on": {"not_a_date": 1},
        "note": {"unknown_column": 1},
    }
    ((cells,),) = asked(tmp_path, "SELECT cells FROM rejected_rows")
    assert json.loads(cells) == {
        "serial": "?", "model": None, "shipped_on": "soon", "note": "keep me",
    }  # fmt: skip


def test_repairs_and_readings_find_their_unit_whatever_the_order_given(tmp_path):
    files = [
        write_csv(tmp_path, "a.csv", READINGS),
        write_csv(tmp_path, "b.csv", REPAIRS),
        write_csv(tmp_path, "c.csv", UNITS),
    ]

    for dry_run in (True, False):
        report = ingest_paths(tmp_path / "store.duckdb", files, dry_run=dry_run)

        assert [file.kind for file in report.files] == ["readings", "repairs", "units"]
        assert [file.problems for file in report.files] == [{}, {}, {}]


def test_a_row_that_names_an_unknown_unit_or_case_is_accepted_with_a_notice(tmp_path):
    repairs = ingested(tmp_path, REPAIRS, name="repairs.csv")
    readings = ingested(tmp_path, READINGS.replace("R1", "R9"), name="readings.csv")

    assert counts(repairs) == (1, 1, 0, 0, 0)
    assert repairs.problems == {"serial": {"unknown_serial": 1}}
    assert counts(readings) == (2, 2, 0, 0, 0)
    assert readings.problems == {"case_id": {"unknown_case": 2}}
    assert asked(tmp_path, "SELECT field, code, n_rows FROM batch_problems") == [
        ("serial", "unknown_serial", 1),
        ("case_id", "unknown_case", 2),
    ]


def test_an_unknown_column_loses_no_row_and_is_counted(tmp_path):
    report = ingested(tmp_path, "serial,model,sight\nU-001,A,x\nU-002,A,\n")

    assert counts(report) == (2, 2, 0, 0, 0)
    assert report.problems == {"sight": {"unknown_column": 1}}
    assert report.notices == (
        (
            "column `sight` is not known and is left out; "
            "the nearest known field is `site`"
        ),
    )


def test_xlsx_and_parquet_give_the_same_rows_as_csv(tmp_path):
    csv_file = write_csv(
        tmp_path, "units.csv",
        "serial,model,shipped_on,cable_length_m,warranty_months\n"
        "12345,A,2025-01-02,7.5,36\nU-002,3,,,\n",
    )  # fmt: skip
    day = dt.date(2025, 1, 2)
    book = openpyxl.Workbook()
    for row in (
        ["serial", "model", "shipped_on", "cable_length_m", "warranty_months"],
        [12345, "A", day, 7.5, 36],
        ["U-002", 3, None, None, None],
    ):
        book.active.append(row)
    book.save(tmp_path / "units.xlsx")
    table = {
        "serial": ["12345", "U-002"], "model": ["A", "3"], "shipped_on": [day, None],
        "cable_length_m": [7.5, None], "warranty_months": [36.0, None],
    }  # fmt: skip
    pq.write_table(pa.table(table), tmp_path / "units.parquet")
    files = [csv_file, tmp_path / "units.xlsx", tmp_path / "units.parquet"]

    report = ingest_paths(tmp_path / "store.duckdb", files)

    assert [counts(file) for file in report.files] == [
        (2, 2, 0, 0, 0), (2, 0, 2, 0, 0), (2, 0, 2, 0, 0),
    ]  # fmt: skip


def test_a_row_that_does_not_decode_is_set_aside_and_the_others_are_stored(tmp_path):
    file = tmp_path / "units.csv"
    file.write_bytes(b"serial,model\nU-001,K\xc3\xb6ln\nU-002,K\xf6ln\nU-003,A,B\n")

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert counts(report) == (3, 1, 0, 0, 2)
    assert report.problems == {
        "model": {"bad_encoding": 1},
        "extra_cell_1": {"malformed_row": 1},
    }


def test_a_file_that_gives_all_its_rows_one_key_takes_no_longer(tmp_path):
    # 40 000 rows compared pair by pair would take about fifty times as long.
    def seconds(name, serials):
        lines = [f"{serial},A" for serial in serials]
        begun = time.perf_counter()
        report = ingested(tmp_path, "\n".join(["serial,model", *lines]), name=name)
        assert report.read == report.accepted + report.unchanged == len(lines)
        return time.perf_counter() - begun

    in_pairs = seconds("pairs.csv", [f"U-{n % 20_000}" for n in range(40_000)])

    assert seconds("one.csv", ["N/A"] * 40_000) < 5 * in_pairs


def test_no_letter_of_a_cell_makes_two_rows_alike(tmp_path):
    # The sign that computers keep for the border between two cells, in a cell.
    header = "model,production_lot,shipped_month,quantity\n"
    one, other = "A\x1fB,C,2026-01", "A,B\x1fC,2026-01"
    ingested(tmp_path, f"{header}{one},1\n{other},2\n", name="shipments.csv")

    again = ingested(tmp_path, f"{header}{one},1\n{other},1\n", name="shipments.csv")

    assert counts(again) == (2, 0, 1, 1, 0)


def test_a_reading_of_minus_zero_is_one_of_zero(tmp_path):
    header = "case_id,check,taken_at,stage,value,unit\n"
    row = "R1,pilot_continuity,2026-01-02,intake,{},ohm\n"

    report = ingested(tmp_path, header + row.format("-0") + row.format("0.0"))

    assert counts(report) == (2, 1, 1, 0, 0)
