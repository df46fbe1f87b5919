"""A process killed at any moment loses nothing it had said was stored.

Ten kills, five while files are taken in and five while figures are published;
MENDFLEET_KILLS asks for another number. Only processes started here are killed.
"""

import datetime as dt
import os
import random
import subprocess
import sys
import time
from pathlib import Path

from analytics.rollup.publish import publish
from analytics.rollup.published_files import UNFINISHED, pointer_fault
from ingest.pipeline import ingest_paths
from ingest.upkeep.self_check import self_check
from tests.small_files import asked
from tests.small_fleet import case, unit, write_rows

ROOT = Path(__file__).parents[2]
N_KILLS = int(os.environ.get("MENDFLEET_KILLS", "10"))
N_FILES = 4
N_ROWS = 300
WAIT_S = 120

INGEST = """
import sys
from pathlib import Path
from ingest.pipeline import ingest_paths
store, *files = map(Path, sys.argv[1:])
print("begun", flush=True)
for file in files:
    ingest_paths(store, [file])
    print(file, flush=True)
"""
PUBLISH = """
import datetime as dt, sys
from pathlib import Path
from analytics.rollup.publish import publish
folder = Path(sys.argv[1])
print("begun", flush=True)
day = dt.date.fromisoformat(sys.argv[2])
print(publish(folder / "store.duckdb", folder / "published", as_of=day).snapshot,
      flush=True)
"""


def killed_after(seconds, code, *words):
    """Run code, kill it so long after it has begun, and return what it had said."""
    with subprocess.Popen(
        [sys.executable, "-c", code, *map(str, words)],
        cwd=ROOT, stdout=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stdout.readline() == "begun\n"
        time.sleep(seconds)
        process.kill()
        return process.stdout.read().splitlines()


def seconds_of(code, *words):
    with subprocess.Popen(
        [sys.executable, "-c", code, *map(str, words)],
        cwd=ROOT, stdout=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stdout.readline() == "begun\n"
        begun = time.monotonic()
        assert process.wait(WAIT_S) == 0
        return time.monotonic() - begun


def files_of_round(folder, number):
    """Return files with new, repeated, changed and wrong rows, each with others."""
    files = []
    for n in range(N_FILES):
        rows = [unit(f"U-{number}-{n}-{row}") for row in range(N_ROWS)]
        rows += [unit(f"B-{row:03}", model=f"M {number} {n}") for row in range(20)]
        rows += [unit(f"W-{number}-{n}-{row}", phases=2) for row in range(5)]
        files.append(write_rows(folder / f"units-{number}-{n}.csv", rows))
    return files


def assert_whole(folder, said):
    store_file = folder / "store.duckdb"
    if not store_file.exists():
        assert said == []
        return
    assert [f for f in self_check(store_file) if f.is_fault] == []
    kept = dict(asked(folder, "SELECT path, n_read FROM batches"))
    assert set(said) <= set(kept), "a file was said to be stored, and is not"
    assert set(kept.values()) <= {N_ROWS + 25}, "part of a file is stored"


def test_a_kill_during_ingest_loses_no_file_and_leaves_no_half_one(tmp_path):
    chance = random.Random(7)  # noqa: S311 - moments, no secret
    whole = seconds_of(
        INGEST, tmp_path / "first" / "store.duckdb", *files_of_round(tmp_path, 0)
    )
    moments = set()
    n_rounds = max(1, N_KILLS // 2)
    for number in range(n_rounds):
        files = files_of_round(tmp_path, number)
        store_file = tmp_path / "store.duckdb"

        said = killed_after(chance.uniform(0, whole), INGEST, store_file, *files)

        assert_whole(tmp_path, said)
        moments.add(len(said))
        for file in files:  # the same again
            ingest_paths(store_file, [file])
        assert_whole(tmp_path, list(map(str, files)))
    n_units = n_rounds * N_FILES * N_ROWS + 20
    assert asked(tmp_path, "SELECT count(*) FROM units") == [(n_units,)]
    assert asked(tmp_path, "SELECT count(*) FROM rejected_rows") == [
        (n_rounds * N_FILES * 5,)
    ]
    assert asked(
        tmp_path, "SELECT DISTINCT model FROM units WHERE serial LIKE 'B-%'"
    ) == [(f"M {n_rounds - 1} {N_FILES - 1}",)]
    assert moments != {N_FILES}, "every kill came too late to tell anything"


def test_a_kill_during_publish_keeps_the_figures_shown(tmp_path):
    chance = random.Random(8)  # noqa: S311 - moments, no secret
    shown = tmp_path / "published"
    rows = [case(f"R{n}", f"U-0-0-{n}", confirmed_mode="fuse_open") for n in range(99)]
    files = [*files_of_round(tmp_path, 0), write_rows(tmp_path / "r.csv", rows)]
    ingest_paths(tmp_path / "store.duckdb", files)
    whole = seconds_of(PUBLISH, tmp_path, "2025-12-01")
    before = (shown / "CURRENT").read_text()
    too_late = 0
    n_rounds = max(1, N_KILLS - N_KILLS // 2)
    for number in range(n_rounds):
        day = f"2026-{1 + number // 28 % 12:02}-{1 + number % 28:02}"

        said = killed_after(chance.uniform(0, whole), PUBLISH, tmp_path, day)

        after = (shown / "CURRENT").read_text()
        assert pointer_fault(shown) is None
        assert after == before or after.startswith(day)
        assert not said or said == [after.strip()]
        too_late += bool(said)
        again = publish(
            tmp_path / "store.duckdb", shown, as_of=dt.date.fromisoformat(day)
        )
        before = (shown / "CURRENT").read_text()
        assert before.strip() == again.snapshot
        assert list(shown.glob(f"{UNFINISHED}*")) == []
        assert pointer_fault(shown) is None
    assert too_late < n_rounds, "every kill came too late to tell anything"
