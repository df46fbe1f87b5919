"""What a workshop really has: other columns, packed files, sheets, words of people."""

import gzip
import json
import zipfile

import pytest
import xlsxwriter

from dashboard.settings import Place
from ingest.errors import FileError, UsageError
from ingest.mapping.mapping_file import parse_mapping
from ingest.pipeline import Care, ingest_paths
from ingest.quarantine import rejected_rows, write_correction_files
from tests.small_files import asked, counts, ingested, write_csv

UNITS = "serial,model\nU-001,A\nU-002,B\n"
RETURNS = (
    "RMA;Seriennummer;Eingang;Symptome;Kosten\n"
    "7;u-001;02.06.2025;Griff heiß;12,50\n"
    "8;u-002;31.06.2025;Griff heiß;1.234,5\n"
)
MAPPING = """
[columns]
RMA = "case_id"
Seriennummer = "serial"
Eingang = "received_on"
Symptome = "symptoms"
Kosten = "parts_cost"
[dates]
received_on = "%d.%m.%Y"
[codes.symptoms]
"Griff heiß" = "handle_hot"
[constants]
currency = "EUR"
"""


def returns(folder, text=RETURNS, **options):
    file = write_csv(folder, "returns.csv", text)
    mapping = parse_mapping(MAPPING, name="mapping.toml")
    return ingest_paths(folder / "store.duckdb", [file], mapping=mapping, **options)


def test_a_mapping_turns_columns_dates_words_and_decimal_commas(tmp_path):
    report = returns(tmp_path).files[0]

    assert report.kind == "repairs"
    assert counts(report) == (2, 1, 0, 0, 1)
    assert report.problems["received_on"] == {"not_a_date": 1}
    assert report.problems["parts_cost"] == {"not_a_number": 1}
    question = (
        "SELECT case_id, serial, CAST(received_on AS VARCHAR), symptoms,"
        " CAST(parts_cost AS VARCHAR), currency FROM repairs"
    )
    assert asked(tmp_path, question) == [
        ("7", "U-001", "2025-06-02", "handle_hot", "12.5000", "EUR")
    ]


def test_the_mapping_is_kept_with_its_batch_and_used_again_for_corrections(tmp_path):
    returns(tmp_path)
    assert asked(tmp_path, "SELECT mapping FROM batches") == [(MAPPING,)]
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    text = file.read_text(encoding="utf-8-sig")
    assert text.startswith("RMA,Seriennummer,Eingang,Symptome,Kosten,problems,")
    fixed = text.replace("31.06.2025", "30.06.2025").replace('"1.234,5"', "1234.5")
    file.write_text(fixed, encoding="utf-8")

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert counts(report) == (1, 1, 0, 0, 0)
    assert rejected_rows(tmp_path / "store.duckdb") == []
    resolved = asked(tmp_path, "SELECT batch, resolved_by FROM rejected_rows")
    assert resolved == [(1, 2)]


def test_a_file_read_with_another_mapping_is_not_the_same_file(tmp_path):
    returns(tmp_path)
    other = parse_mapping(MAPPING.replace("EUR", "CHF"), name="other.toml")

    report = ingest_paths(
        tmp_path / "store.duckdb", [tmp_path / "returns.csv"], mapping=other
    ).files[0]

    assert (report.batch, report.replaced) == (2, 1)


def test_kind_and_mapping_that_disagree_are_refused(tmp_path):
    file = write_csv(tmp_path, "units.csv", UNITS)
    mapping = parse_mapping('kind = "repairs"\n', name="mapping.toml")

    with pytest.raises(UsageError, match="for repairs"):
        ingest_paths(tmp_path / "store.duckdb", [file], kind="units", mapping=mapping)


def test_a_comma_is_a_decimal_sign_only_where_the_semicolon_separates(tmp_path):
    semicolon = "serial;model;cable_length_m\nU-001;A;7,5\nU-002;A;7.5\n"
    comma = 'serial,model,cable_length_m\nU-003,A,"7,5"\n'

    first = ingested(tmp_path, semicolon)
    second = ingested(tmp_path, comma, name="more.csv")

    assert (first.accepted, second.rejected) == (2, 1)
    lengths = asked(tmp_path, "SELECT DISTINCT cable_length_m FROM units")
    assert lengths == [(7.5,)]


def test_a_reading_keeps_its_bound_with_a_decimal_comma(tmp_path):
    text = (
        "case_id;check;taken_at;stage;value;unit\n"
        "R1;pilot_continuity;2025-06-02;intake;>2,5;kohm\n"
    )

    ingested(tmp_path, text)

    question = "SELECT value, quantity, bound, bound_quantity FROM readings"
    assert asked(tmp_path, question) == [(">2.5", None, "above", 2500.0)]


def test_a_packed_file_counts_as_the_file_in_it(tmp_path):
    packed = tmp_path / "units.csv.gz"
    packed.write_bytes(gzip.compress(UNITS.encode()))

    report = ingest_paths(tmp_path / "store.duckdb", [packed]).files[0]

    assert (report.file, report.kind, report.accepted) == (str(packed), "units", 2)


def test_every_file_of_a_zip_is_reported_under_its_own_name(tmp_path):
    packed = tmp_path / "all.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr(
            "repairs.csv", "case_id,serial,received_on\nR1,U-001,2025-06-02\n"
        )
        archive.writestr("register/units.csv", UNITS)
        archive.writestr("notes.docx", "x")

    report = ingest_paths(tmp_path / "store.duckdb", [packed])

    names = [file.file.removeprefix(f"{packed}/") for file in report.files]
    assert sorted(names) == ["notes.docx", "register/units.csv", "repairs.csv"]
    by_kind = {file.kind: file for file in report.files}
    assert by_kind["units"].accepted == 2
    # Units went in first: the repair found its unit.
    assert by_kind["repairs"].problems == {}
    assert isinstance(by_kind[None].error, FileError)


def workbook(path, sheets):
    with xlsxwriter.Workbook(path) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for n, row in enumerate(rows):
                sheet.write_row(n, 0, row)
    return path


UNIT_ROWS = [["serial", "model"], ["U-001", "A"]]
REPAIR_ROWS = [["case_id", "serial", "received_on"], ["R1", "U-001", "2025-06-02"]]


def test_the_only_sheet_whose_columns_fit_is_read(tmp_path):
    file = workbook(
        tmp_path / "b.xlsx", {"Notes": [["to do"], ["call"]], "Units": UNIT_ROWS}
    )

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert (report.kind, report.accepted) == ("units", 1)


def test_two_sheets_that_fit_are_an_error_that_names_both(tmp_path):
    file = workbook(tmp_path / "b.xlsx", {"Stock": UNIT_ROWS, "Returns": REPAIR_ROWS})
    store = tmp_path / "store.duckdb"

    report = ingest_paths(store, [file]).files[0]

    assert "`Stock` (units) and `Returns` (repairs)" in report.error.message
    assert ingest_paths(store, [file], sheet="Returns").files[0].kind == "repairs"
    assert ingest_paths(store, [file], kind="units").files[0].kind == "units"


def test_no_sheet_that_fits_says_why_for_each(tmp_path):
    file = workbook(tmp_path / "b.xlsx", {"One": [["x"], [1]], "Two": [["y"], [2]]})

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert "Sheet `One`" in report.error.message
    assert "Sheet `Two`" in report.error.message


def test_personal_data_is_masked_before_it_is_stored_and_counted(tmp_path):
    text = (
        "case_id,serial,received_on,symptom_text,owner\n"
        "R1,U-001,2025-06-02,call 0170 1234567,me@example.org\n"
        "R2,U-001,soon,mail me@example.org,me@example.org\n"
        "R1,U-001,2025-06-03,call 0170 1234567,x\n"
    )

    report = ingested(tmp_path, text, name="repairs.csv")

    assert counts(report) == (3, 1, 0, 0, 2)
    assert report.problems["symptom_text"] == {"personal_data_masked": 3}
    # Of unknown columns only what is kept is looked at: here that of rows set aside.
    assert report.problems["owner"] == {
        "personal_data_masked": 1,
        "unknown_column": 3,
    }
    assert asked(tmp_path, "SELECT symptom_text FROM repairs") == [("call [phone]",)]
    everything = str(asked(tmp_path, "SELECT * FROM rejected_rows"))
    assert "example.org" not in everything
    assert "1234567" not in everything


def test_masking_can_be_switched_off(tmp_path):
    text = "case_id,serial,received_on,symptom_text\nR1,U-001,2025-06-02,a@b.org\n"
    file = write_csv(tmp_path, "repairs.csv", text)

    report = ingest_paths(
        tmp_path / "store.duckdb", [file], care=Care(mask=False)
    ).files[0]

    assert report.problems == {"serial": {"unknown_serial": 1}}
    assert asked(tmp_path, "SELECT symptom_text FROM repairs") == [("a@b.org",)]


def test_unknown_columns_are_kept_where_the_settings_say_so(tmp_path):
    (tmp_path / "mendfleet.toml").write_text("keep_unknown_columns = true\n")
    place = Place(tmp_path)
    text = "serial,model,colour,owner\nU-001,A,red,a@b.org\nU-001,B,blue,\n?,A,grey,\n"
    file = write_csv(tmp_path, "units.csv", text)

    report = ingest_paths(place.store, [file], care=place.settings().care())

    question = "SELECT row_no, field, cell FROM unknown_cells ORDER BY field"
    assert asked(tmp_path, question) == [(2, "colour", "red"), (2, "owner", "[e-mail]")]
    assert report.files[0].problems["colour"] == {"unknown_column": 3}
    again = ingest_paths(place.store, [file], care=place.settings().care())
    assert again.files[0].batch == 1
    assert len(asked(tmp_path, question)) == 2


def test_json_lines_of_a_charger_go_in_as_they_are(tmp_path):
    call = [
        2, "a1", "StatusNotification",
        {"connectorId": 1, "errorCode": "GroundFailure", "status": "Faulted"},
    ]  # fmt: skip
    line = {"serial": "U-001", "received_at": "2025-06-02T10:00:00Z", "message": call}
    file = write_csv(tmp_path, "log.jsonl", json.dumps(line) + "\nno json\n")

    report = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]

    assert (report.kind, report.accepted, report.rejected) == ("status", 1, 1)
    assert asked(tmp_path, "SELECT action, words FROM status") == [
        ("StatusNotification", "GroundFailure")
    ]
