"""Out to be corrected, and in again: the way of a rejected row."""

import csv

import openpyxl
import pytest

from ingest.pipeline import ingest_paths
from ingest.quarantine import rejected_rows, write_correction_files
from tests.small_files import asked, counts, ingested, write_csv


def corrected(file, **cells):
    """Set cells of the only row of a correction file, as a person would."""
    if file.suffix == ".xlsx":
        book = openpyxl.load_workbook(file)
        header = [cell.value for cell in book.active[1]]
        for name, text in cells.items():
            book.active.cell(2, header.index(name) + 1).value = text
        book.save(file)
        return file
    with file.open(encoding="utf-8-sig", newline="") as content:
        header, row = list(csv.reader(content))
    for name, text in cells.items():
        row[header.index(name)] = text
    with file.open("w", encoding="utf-8", newline="") as content:
        csv.writer(content, delimiter=";").writerows([header, row])
    return file


def ingest(tmp_path, file):
    return ingest_paths(tmp_path / "store.duckdb", [file]).files[0]


def waiting(tmp_path):
    return rejected_rows(tmp_path / "store.duckdb")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_a_corrected_row_is_accepted_and_resolves_the_row_set_aside(tmp_path, suffix):
    ingested(tmp_path, 'serial,model,site,note\n00?12,"A ""B"", ü",=A1,x\n')
    out = tmp_path / f"fix{suffix}"
    (file,) = write_correction_files(tmp_path / "store.duckdb", out)

    report = ingest(tmp_path, corrected(file, serial="00012"))

    assert counts(report) == (1, 1, 0, 0, 0)
    # `note` was the user's own; problems and rejected_row are no unknown columns.
    assert report.problems == {"note": {"unknown_column": 1}}
    assert waiting(tmp_path) == []
    assert asked(tmp_path, "SELECT resolved_by FROM rejected_rows") == [(report.batch,)]
    assert asked(tmp_path, "SELECT serial, model, site FROM units") == [
        ("00012", 'A "B", ü', "=A1")
    ]


def test_the_same_correction_twice_changes_nothing(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n")
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    first = ingest(tmp_path, corrected(file, serial="U-001"))

    again = ingest(tmp_path, file)

    assert counts(again) == (1, 0, 1, 0, 0)
    assert again.batch == first.batch


def test_a_correction_to_what_is_stored_already_resolves_too(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n?,A\n")
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")

    report = ingest(tmp_path, corrected(file, serial="U-001"))

    assert counts(report) == (1, 0, 1, 0, 0)
    assert waiting(tmp_path) == []


def test_a_row_not_corrected_stays_where_it_is(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n")
    before = waiting(tmp_path)
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")

    report = ingest(tmp_path, file)

    assert counts(report) == (1, 0, 0, 0, 1)
    assert waiting(tmp_path) == before


def test_a_correction_that_is_wrong_again_takes_the_place_of_the_row(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n")
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")

    ingest(tmp_path, corrected(file, serial="!!!"))

    (found,) = waiting(tmp_path)
    assert found.cells == {"serial": "!!!", "model": "A"}
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    ingest(tmp_path, corrected(file, serial="U-001"))
    assert waiting(tmp_path) == []


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"serial,model\nU-001,A\nU-001,B\n", "duplicate_key_in_file"),
        (b"serial,model\nU-001,\xc3\xb6\nU-002,\xf6\n", "bad_encoding"),
        (b"serial,model\nU-001,A\nU-002,A,B\n", "malformed_row"),
    ],
)
def test_a_fault_that_the_cells_do_not_show_is_not_forgotten(tmp_path, content, code):
    (tmp_path / "units.csv").write_bytes(content)
    ingest(tmp_path, tmp_path / "units.csv")
    before = waiting(tmp_path)
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")

    report = ingest(tmp_path, file)

    assert counts(report) == (1, 0, 0, 0, 1)
    assert code in {c for codes in report.problems.values() for c in codes}
    assert waiting(tmp_path) == before


def test_a_truth_value_is_kept_as_its_word_and_not_taken_for_a_text_later(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["serial", "model", "site"])
    book.active.append(["U-001", "A", True])
    book.save(tmp_path / "units.xlsx")
    ingest(tmp_path, tmp_path / "units.xlsx")
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")

    report = ingest(tmp_path, file)

    assert report.problems == {"site": {"not_text": 1}}
    (found,) = waiting(tmp_path)
    assert found.cells == {"serial": "U-001", "model": "A", "site": "TRUE"}


def test_a_second_row_of_a_key_is_accepted_once_its_key_is_corrected(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\nU-001,B\n")
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")

    report = ingest(tmp_path, corrected(file, serial="U-002"))

    assert counts(report) == (1, 1, 0, 0, 0)
    assert waiting(tmp_path) == []


def test_a_corrected_row_is_not_asked_for_again_by_its_old_file(tmp_path):
    text = "serial,model\n?,A\n"
    ingested(tmp_path, text)
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    ingest(tmp_path, corrected(file, serial="U-001"))

    report = ingest(tmp_path, write_csv(tmp_path, "units.csv", text))

    assert report.rejected == 1
    assert waiting(tmp_path) == []


def correct_all(tmp_path, *changes):
    """Take in a correction file whose rows are changed one after the other."""
    (file,) = write_correction_files(tmp_path / "store.duckdb", tmp_path / "fix.csv")
    with file.open(encoding="utf-8-sig", newline="") as content:
        rows = list(csv.DictReader(content))
    for row, cells in zip(rows, changes, strict=True):
        row.update(cells)
    with file.open("w", encoding="utf-8", newline="") as content:
        writer = csv.DictWriter(content, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return ingest(tmp_path, file)


def test_a_correction_back_to_what_was_wrong_before_does_not_lose_the_row(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n")
    correct_all(tmp_path, {"serial": "!!!"})

    report = correct_all(tmp_path, {"serial": "?"})

    assert counts(report) == (1, 0, 0, 0, 1)
    assert [row.cells["serial"] for row in waiting(tmp_path)] == ["!!!"]


def test_two_wrong_rows_that_change_places_both_wait(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n!,A\n")

    report = correct_all(tmp_path, {"serial": "!"}, {"serial": "?"})

    assert counts(report) == (2, 0, 0, 0, 2)
    assert [row.cells["serial"] for row in waiting(tmp_path)] == ["?", "!"]


def test_a_row_corrected_and_sent_along_as_it_was_still_waits(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n!,A\n")

    report = correct_all(tmp_path, {"serial": "U-001"}, {"serial": "?"})

    assert counts(report) == (2, 1, 0, 0, 1)
    assert "?" in {row.cells["serial"] for row in waiting(tmp_path)}


def test_a_duplicate_sent_as_it_left_never_replaces_what_stands(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\nU-001,B\n")
    (as_it_left,) = write_correction_files(
        tmp_path / "store.duckdb", tmp_path / "old.csv"
    )
    correct_all(tmp_path, {"serial": "U-002"})

    report = ingest(tmp_path, as_it_left)

    assert counts(report) == (1, 0, 0, 0, 1)
    assert waiting(tmp_path) == []
    assert asked(tmp_path, "SELECT serial, model FROM units ORDER BY serial") == [
        ("U-001", "A"), ("U-002", "B"),
    ]  # fmt: skip
