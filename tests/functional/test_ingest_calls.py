"""One call of ingest: several files, folders, dry runs, failures and a busy store."""

import datetime as dt
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from ingest import store
from ingest.errors import FileError, StoreBusyError, UsageError
from ingest.pipeline import ingest_paths
from tests.small_files import asked, counts, write_csv

UNITS = "serial,model,in_service_on\nU-001,A,2025-01-01\nU-002,B,\n"
REPAIRS = "case_id,serial,received_on\nR1,U-001,2025-06-01\n"


def test_the_exit_code_is_1_when_rows_were_set_aside(tmp_path):
    file = write_csv(tmp_path, "units.csv", "serial,model\n?,A\n")

    assert ingest_paths(tmp_path / "store.duckdb", [file]).exit_code == 1


def test_a_header_alone_is_done_with_no_row(tmp_path):
    file = write_csv(tmp_path, "units.csv", "serial,model\n")

    report = ingest_paths(tmp_path / "store.duckdb", [file])

    assert report.exit_code == 0
    assert counts(report.files[0]) == (0, 0, 0, 0, 0)


def test_a_file_that_fails_is_told_and_the_others_are_stored(tmp_path):
    files = [
        write_csv(tmp_path, "empty.csv", ""),
        write_csv(tmp_path, "repairs.csv", "case_id,serial\nR1,U-001\n"),
        write_csv(tmp_path, "units.csv", UNITS),
        tmp_path / "gone.csv",
    ]

    report = ingest_paths(tmp_path / "store.duckdb", files)

    assert report.exit_code == 10
    assert [file.file for file in report.files] == [str(file) for file in files]
    assert [bool(file.error) for file in report.files] == [True, True, False, True]
    assert "`received_on`" in report.files[1].error.message
    assert report.files[2].accepted == 2


def test_a_call_in_which_all_files_fail_makes_no_store(tmp_path):
    report = ingest_paths(tmp_path / "store.duckdb", [tmp_path / "gone.csv"])

    assert report.exit_code == 10
    assert not (tmp_path / "store.duckdb").exists()


def test_a_file_that_breaks_on_the_way_leaves_nothing_of_itself(tmp_path):
    units = write_csv(tmp_path, "units.csv", UNITS)
    broken = tmp_path / "more.parquet"
    rows = {"serial": [f"U-{n:05}" for n in range(9000)], "model": ["A"] * 9000}
    pq.write_table(pa.table(rows), broken, row_group_size=4500, compression="none")
    content = bytearray(broken.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 9000] = b"\xff" * 9000
    broken.write_bytes(content)

    for dry_run in (True, False):
        report = ingest_paths(
            tmp_path / "store.duckdb", [broken, units], dry_run=dry_run
        )

        assert isinstance(report.files[0].error, FileError)
        assert counts(report.files[1]) == (2, 2, 0, 0, 0)
    assert asked(tmp_path, "SELECT count(*) FROM units") == [(2,)]


def test_a_dry_run_tells_the_same_and_stores_nothing(tmp_path):
    file = write_csv(tmp_path, "units.csv", UNITS + "?,C,\n")

    dry = ingest_paths(tmp_path / "store.duckdb", [file], dry_run=True).files[0]

    assert counts(dry) == (3, 2, 0, 0, 1)
    assert dry.batch is None
    assert not (tmp_path / "store.duckdb").exists()

    wet = ingest_paths(tmp_path / "store.duckdb", [file]).files[0]
    assert counts(wet) == counts(dry)

    ingest_paths(
        tmp_path / "store.duckdb",
        [write_csv(tmp_path, "more.csv", "serial,model\nU-003,A\n")],
        dry_run=True,
    )
    assert asked(tmp_path, "SELECT count(*) FROM units") == [(2,)]


def test_a_folder_without_files_is_reported_and_stores_nothing(tmp_path):
    folder = tmp_path / "empty"
    (folder / "below").mkdir(parents=True)

    report = ingest_paths(tmp_path / "store.duckdb", [folder])

    assert report.exit_code == 10
    assert report.files[0].error.message == f"The folder {folder} holds no files."
    assert not (tmp_path / "store.duckdb").exists()


def test_a_folder_stands_for_its_files_in_order(tmp_path):
    folder = tmp_path / "files"
    folder.mkdir()
    write_csv(folder, "b.csv", REPAIRS)
    write_csv(folder, "a.csv", UNITS)
    write_csv(folder, ".hidden.csv", "x")
    write_csv(folder, "~$open.xlsx", "x")

    report = ingest_paths(tmp_path / "store.duckdb", [folder])

    assert [Path(file.file).name for file in report.files] == ["a.csv", "b.csv"]


def test_a_path_is_told_as_it_was_given(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_csv(tmp_path, "units.csv", "serial,model\nU-001,A\n")
    with zipfile.ZipFile("all.zip", "w") as packed:
        packed.write("units.csv")

    given = ["./units.csv", ".", "./all.zip", "./none.csv"]
    report = ingest_paths(tmp_path / "store" / "store.duckdb", given)

    assert [file.file for file in report.files] == [
        "./units.csv", "./all.zip/units.csv", "./units.csv", "./all.zip/units.csv",
        "./none.csv",
    ]  # fmt: skip


def test_the_same_file_named_twice_is_unchanged_the_second_time(tmp_path):
    file = write_csv(tmp_path, "units.csv", UNITS)

    report = ingest_paths(tmp_path / "store.duckdb", [file, file])

    assert [counts(file) for file in report.files] == [(2, 2, 0, 0, 0), (2, 0, 2, 0, 0)]


def test_an_unknown_kind_is_refused_before_anything_is_read(tmp_path):
    with pytest.raises(UsageError, match="There is no kind `cars`"):
        ingest_paths(tmp_path / "store.duckdb", [], kind="cars")


def test_a_kind_that_was_said_decides(tmp_path):
    both = "serial,model,case_id,received_on,site\nU-001,A,R1,2025-06-01,x\n"
    file = write_csv(tmp_path, "both.csv", both)
    path = tmp_path / "store.duckdb"

    assert ingest_paths(path, [file]).exit_code == 10
    assert ingest_paths(path, [file], kind="units").files[0].kind == "units"


def test_the_day_through_which_a_file_is_complete_is_kept_with_it(tmp_path):
    file = write_csv(tmp_path, "repairs.csv", REPAIRS)
    day = dt.date(2025, 6, 30)

    ingest_paths(tmp_path / "store.duckdb", [file])
    ingest_paths(tmp_path / "store.duckdb", [file], complete_through=day)

    assert asked(tmp_path, "SELECT complete_through FROM batches ORDER BY batch") == [
        (None,),
        (day,),
    ]


def test_progress_is_told_about_every_thousand_rows(tmp_path):
    rows = "\n".join(f"U-{n:05},A" for n in range(2500))
    file = write_csv(tmp_path, "units.csv", f"serial,model\n{rows}\n")
    told = []

    ingest_paths(
        tmp_path / "store.duckdb",
        [file],
        in_blocks=False,
        progress=lambda *step: told.append(step),
    )

    label = str(file)
    assert told == [(label, n, 2500) for n in (0, 1000, 2000, 2500, 2500)]


def test_a_dry_run_moves_out_of_memory_what_is_too_much_for_it(tmp_path, monkeypatch):
    limits = ("SET memory_limit = '24MB'", "SET threads = 1")
    monkeypatch.setattr("ingest.batch_statements.FLAT_MEMORY", limits)
    monkeypatch.setattr("ingest.taking_in.ROWS_PER_CHUNK", 5000)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    rows = "".join(f"U-{n},{n * 7919 % 99991:060}\n" for n in range(200_000))
    file = write_csv(tmp_path, "units.csv", f"serial,model\n{rows}")
    moved_out = set()

    (report,) = ingest_paths(
        tmp_path / "store.duckdb",
        [file],
        dry_run=True,
        progress=lambda *_: moved_out.update(tmp_path.rglob("duckdb_temp_*")),
    ).files

    assert report.accepted == 200_000
    assert moved_out
    assert list(tmp_path.iterdir()) == [file]


def test_a_second_process_is_told_which_process_holds_the_store(tmp_path):
    file = write_csv(tmp_path, "units.csv", UNITS)
    code = (
        "import sys\nfrom pathlib import Path\n"
        "from ingest.errors import StoreBusyError\n"
        "from ingest.pipeline import ingest_paths\n"
        "try:\n    ingest_paths(Path(sys.argv[1]), [Path(sys.argv[2])])\n"
        "except StoreBusyError as error: print(error)\n"
    )
    path = tmp_path / "store.duckdb"

    with store.open_for_writing(path):
        told = subprocess.run(
            [sys.executable, "-c", code, str(path), str(file)],
            capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2],
        ).stdout  # fmt: skip

    assert told == (
        f"{path} is being written by process {os.getpid()}.\n"
        "Wait for it to finish, then run the same command again.\n"
    )
    assert StoreBusyError.exit_code == 11
