"""How fast files go in: against a bare load of the same file, and row by row.

The repairs are those of the invented fleet, over and over, with a case number, a serial
and words of their own in every row.
"""

import csv
import math
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import duckdb

from ingest import readers, store
from ingest.pipeline import ingest_paths
from ingest.records import KINDS
from ingest.validation import validated
from synthetic_data.fleet import write_fleet

SPEC = KINDS["repairs"]
LETTERS = "abcdefghijklmnopqrstuvwxyz"
WRONG = 60  # one row in so many has a day that is none: 1.7 %
N_ROW_BY_ROW = 1_000_000
LOAD = """
INSERT INTO typed BY NAME
SELECT * FROM read_csv(
    '{file}', header = true, auto_detect = false, delim = ',', quote = '"',
    escape = '"', columns = {columns}
)
"""


def write_repairs(file: Path, rows: Sequence[dict[str, str]], n: int, *, wrong: bool):
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, SPEC.fields)
        writer.writeheader()
        for i in range(n):
            row = rows[i % len(rows)] | {
                "case_id": f"R{i:08d}",
                "serial": f"U{i * 7 % 10_000_019:08d}",
            }
            if "symptom_text" in row:
                own = "".join(LETTERS[i // 26**k % 26] for k in range(5))
                row["symptom_text"] += f" {own}"
            if wrong and i % WRONG == 0:
                row["closed_on"] = "soon"
            writer.writerow(row)


def invented_repairs(folder: Path) -> list[dict[str, str]]:
    made = write_fleet(folder, n_units=20_000, seed=3)
    (source,) = readers.read(made.repairs)
    rows = [dict(row.cells) for row in source.rows()]
    # Only rows that are right, so that a bare load takes the same file.
    return [row for row in rows if not isinstance(validated(SPEC, row), list)]


def bare_typed_load(file: Path, folder: Path) -> float:
    """Return the seconds of a load into a table of the store's own types."""
    target = folder / "bare.duckdb"
    target.unlink(missing_ok=True)
    with store.open_in_memory() as memory:
        types = memory.execute(
            "SELECT column_name, data_type FROM duckdb_columns() "
            "WHERE table_name = 'repair_versions'"
        ).fetchall()
    types = {name: kind for name, kind in types if name in SPEC.fields}
    with duckdb.connect(str(target)) as connection:
        made = ", ".join(f'"{name}" {kind}' for name, kind in types.items())
        connection.execute(f"CREATE TABLE typed ({made})")
        columns = {name: types[name] for name in SPEC.fields}
        start = time.perf_counter()
        connection.execute(LOAD.format(file=file, columns=columns))
        connection.close()
    return time.perf_counter() - start


def ingest_once(file: Path, *, in_blocks: bool) -> tuple[float, float]:
    """Return seconds and the peak of memory in MB of a process that takes a file in."""
    words = [sys.executable, "-m", "tests.benchmarks.ingest_speed", str(file)]
    done = subprocess.run(
        [*words, "blocks" if in_blocks else "rows"],
        check=True,
        capture_output=True,
        text=True,
    )
    took, peak = done.stdout.split()
    return float(took), float(peak)


def measure(sizes: Sequence[int]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        rows = invented_repairs(folder / "fleet")
        times = {n: _compare(folder, rows, n) for n in sizes}
        if len(times) > 1:
            first, last = min(times), max(times)
            grown = math.log(times[last] / times[first]) / math.log(last / first)
            print(f"growth exponent from {first} to {last} rows: {grown:.3f}")


def _compare(folder: Path, rows: Sequence[dict[str, str]], n: int) -> float:
    clean, doubtful = folder / "clean.csv", folder / "doubtful.csv"
    write_repairs(clean, rows, n, wrong=False)
    write_repairs(doubtful, rows, n, wrong=True)
    bare = min(bare_typed_load(clean, folder) for _ in range(3))
    runs = [ingest_once(clean, in_blocks=True) for _ in range(2)]
    ours, peak = min(took for took, _ in runs), max(peak for _, peak in runs)
    print(
        f"ingest {n} repairs: {ours:.2f} s, {n / ours:,.0f} rows/s, peak {peak:.0f} MB;"
        f" bare typed load {bare:.2f} s, x {ours / bare:.2f}"
    )
    mixed, _ = ingest_once(doubtful, in_blocks=True)
    print(f"  with one wrong row in {WRONG}: {mixed:.2f} s")
    if n <= N_ROW_BY_ROW:
        alone, _ = ingest_once(doubtful, in_blocks=False)
        print(f"  row by row: {alone:.2f} s, x {alone / mixed:.2f} of that in blocks")
    return ours


def main() -> None:
    file, how = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        report = ingest_paths(
            Path(folder) / "store.duckdb", [Path(file)], in_blocks=how == "blocks"
        )
        took = time.perf_counter() - start
    if report.files[0].error:
        raise report.files[0].error
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(took, peak)


if __name__ == "__main__":
    main()
