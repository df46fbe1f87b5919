"""One ingest taken back: what goes, what stays, what stands again."""

import pytest

from ingest.errors import NoStoreError, NotFoundError, RefusedError
from ingest.history import files_taken_in
from ingest.pipeline import Care, ingest_paths
from ingest.quarantine import rejected_rows
from ingest.upkeep.undo import UndoReport, undo
from tests.small_files import asked, counts, ingested, write_csv

UNITS = "SELECT serial, model, batch, row_no FROM units ORDER BY serial"
READINGS = "case_id,check,taken_at,stage,point,value,unit\n"


def taken_back(folder, batch):
    return undo(folder / "store.duckdb", batch)


def told(report):
    return (
        report.n_removed, report.n_kept, report.n_set_aside_removed,
        report.n_waiting_again,
    )  # fmt: skip


def test_an_older_version_stands_again_and_a_new_row_is_gone(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n")
    ingested(tmp_path, "serial,model\nU-001,B\nU-002,B\n", name="b.csv")

    report = taken_back(tmp_path, 2)

    assert report == UndoReport(2, str(tmp_path / "b.csv"), "units", 2, 0, 0, 0)
    assert asked(tmp_path, UNITS) == [("U-001", "A", 1, 2)]


def test_a_row_that_a_later_file_brought_as_well_becomes_that_file_s(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\nU-002,A\n")
    ingested(tmp_path, "serial,model\nU-009,A\nU-001,A\n", name="b.csv")
    ingested(tmp_path, "serial,model\nU-001,A\nU-002,A\nU-003,A\n", name="c.csv")

    assert told(taken_back(tmp_path, 1)) == (0, 2, 0, 0)

    assert asked(tmp_path, UNITS) == [
        ("U-001", "A", 2, 3),
        ("U-002", "A", 3, 3),
        ("U-003", "A", 3, 4),
        ("U-009", "A", 2, 2),
    ]
    # Counts follow the rows that moved: what was unchanged is accepted now.
    assert asked(
        tmp_path, "SELECT batch, n_accepted, n_unchanged FROM batches ORDER BY batch"
    ) == [(1, 2, 0), (2, 2, 0), (3, 2, 1)]


def test_a_row_that_returned_to_older_content_stands_over_what_is_between(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n")
    ingested(tmp_path, "serial,model\nU-001,B\n", name="b.csv")
    ingested(tmp_path, "serial,model\nU-001,A\n\n", name="c.csv")
    assert asked(tmp_path, UNITS) == [("U-001", "B", 2, 2)]

    taken_back(tmp_path, 1)

    assert asked(tmp_path, UNITS) == [("U-001", "A", 3, 2)]  # as if B, then A, came


def test_the_same_file_taken_in_twice_is_one_ingest_and_taken_back_as_one(tmp_path):
    for _ in range(2):
        report = ingested(tmp_path, "serial,model\nU-001,A\n")
    assert report.batch == 1

    taken_back(tmp_path, 1)

    assert asked(tmp_path, UNITS) == []


@pytest.mark.parametrize(
    ("rows", "kept", "n"),
    [
        # The later file has two contents of one key; the first of them stands.
        ("U-001,B\nU-001,A\n", "B", (2, 0, 0, 1, 1)),
        ("U-001,A\nU-001,B\n", "A", (2, 1, 0, 0, 1)),
    ],
)
def test_two_contents_of_a_key_in_a_later_file_stay_one_too_many(
    tmp_path, rows, kept, n
):
    ingested(tmp_path, "serial,model\nU-001,A\n")
    ingested(tmp_path, f"serial,model\n{rows}", name="b.csv")

    taken_back(tmp_path, 1)

    assert asked(tmp_path, "SELECT model, batch FROM units") == [(kept, 2)]
    (row,) = rejected_rows(tmp_path / "store.duckdb")
    assert {k: v for k, v in row.cells.items() if v} == {
        "serial": "U-001",
        "model": "A" if kept == "B" else "B",
    }
    assert [(p.field, p.code) for p in row.problems] == [
        ("serial", "duplicate_key_in_file")
    ]
    assert asked(
        tmp_path,
        "SELECT n_read, n_accepted, n_unchanged, n_replaced, n_rejected "
        "FROM batches WHERE batch = 2",
    ) == [n]


def test_keys_with_an_empty_part_are_kept_apart(tmp_path):
    rows = "R1,pilot_continuity,2025-06-03,intake,,0.4,ohm\n"
    more = "R1,pilot_continuity,2025-06-03,intake,CP,0.5,ohm\n"
    ingested(tmp_path, READINGS + rows, name="a.csv")
    ingested(tmp_path, READINGS + more + rows, name="b.csv")

    assert told(taken_back(tmp_path, 1)) == (0, 1, 0, 0)

    assert asked(tmp_path, "SELECT point, value, batch FROM readings ORDER BY 2") == [
        (None, "0.4", 2),
        ("CP", "0.5", 2),
    ]


def test_a_second_month_is_set_aside_as_it_was_written(tmp_path):
    head = "serial,month,sessions\n"
    ingested(tmp_path, head + "U-001,2026-01,5\n", name="a.csv")
    ingested(tmp_path, head + "U-001,2026-01,6\nU-001,2026-01,5\n", name="b.csv")

    taken_back(tmp_path, 1)

    (row,) = rejected_rows(tmp_path / "store.duckdb")
    assert row.cells["month"] == "2026-01"
    assert (row.path, row.row_no) == (str(tmp_path / "b.csv"), 3)


def test_rows_set_aside_go_or_belong_to_the_later_file(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n!,A\n")
    ingested(tmp_path, "serial,model\nU-001,A\n!,A\n", name="b.csv")

    assert told(taken_back(tmp_path, 1)) == (0, 0, 1, 0)

    (row,) = rejected_rows(tmp_path / "store.duckdb")
    assert (row.cells["serial"], row.path, row.row_no) == (
        "!", str(tmp_path / "b.csv"), 3,
    )  # fmt: skip


def test_a_row_corrected_before_it_came_again_waits_with_the_later_file(tmp_path):
    ingested(tmp_path, "serial,model\n?,A\n")
    (row,) = rejected_rows(tmp_path / "store.duckdb")
    fix = f"serial,model,rejected_row\nU-001,A,{row.rejected_row}\n"
    ingested(tmp_path, fix, name="fix.csv")
    ingested(tmp_path, "serial,model\n?,A\nU-002,A\n", name="c.csv")
    assert rejected_rows(tmp_path / "store.duckdb") == []

    taken_back(tmp_path, 1)

    (row,) = rejected_rows(tmp_path / "store.duckdb")
    assert row.path == str(tmp_path / "c.csv")


def test_cells_of_unknown_columns_stay_with_the_file_that_brought_them(tmp_path):
    for name, note in (("a.csv", "first"), ("b.csv", "second")):
        file = write_csv(tmp_path, name, f"serial,model,note\nU-001,A,{note}\n")
        ingest_paths(tmp_path / "store.duckdb", [file], care=Care(keep_unknown=True))

    taken_back(tmp_path, 1)

    assert asked(tmp_path, UNITS) == [("U-001", "A", 2, 2)]
    found = asked(tmp_path, "SELECT batch, row_no, cell FROM unknown_cells")
    assert found == [(2, 2, "second")]


def test_a_batch_taken_back_stays_listed_and_its_number_is_not_used_again(tmp_path):
    ingested(tmp_path, "serial,model\nU-001,A\n")
    ingested(tmp_path, "serial,model\nU-002,A\n", name="b.csv")
    taken_back(tmp_path, 2)

    again = ingested(tmp_path, "serial,model\nU-002,A\n", name="b.csv")

    assert (again.batch, counts(again)) == (3, (1, 1, 0, 0, 0))
    assert asked(
        tmp_path, "SELECT batch, undone_at IS NULL FROM batches ORDER BY batch"
    ) == [(1, True), (2, False), (3, True)]
    assert len(files_taken_in(tmp_path / "store.duckdb")) == 2


def test_a_batch_that_is_not_there_or_was_taken_back_is_refused(tmp_path):
    with pytest.raises(NoStoreError):
        taken_back(tmp_path, 1)
    ingested(tmp_path, "serial,model\nU-001,A\n")

    with pytest.raises(NotFoundError, match=r"no batch 2 in .*; the last one is 1\."):
        taken_back(tmp_path, 2)
    taken_back(tmp_path, 1)
    with pytest.raises(RefusedError, match=r"Batch 1, .*units\.csv, was taken back"):
        taken_back(tmp_path, 1)
