"""Ratios against a reference in the same run; figures to print, never a test.

    python -m tests.benchmarks [--units 100000] [--repairs 100000 1000000]
        [--lives 100000 1000000 10000000]

Each line: what, our seconds, the reference and its seconds, the ratio. Absolute seconds
depend on the machine and on what else it does; the ratio is the better guide.
"""

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import duckdb

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import current_snapshot
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.queries.modes import modes
from ingest.pipeline import ingest_paths
from synthetic_data.fleet import write_fleet
from tests.benchmarks.ingest_speed import measure
from tests.benchmarks.life_speed import lifelines_seconds, measure_lives
from tests.benchmarks.suggest_speed import measure_suggestions
from tests.benchmarks.watch_speed import measure_watch

N_UNITS = 100_000
N_REPAIRS = (100_000, 1_000_000)
N_LIVES = (100_000, 1_000_000, 10_000_000)
A_ROW_A_UNIT = "lifelines Weibull, a row a unit"
REPEATS = 3


def seconds(task: Callable[[], object], repeats: int = REPEATS) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return min(times)


def bare_load(files: list[Path]) -> None:
    with duckdb.connect() as connection:
        for number, file in enumerate(files):
            connection.read_csv(
                str(file), all_varchar=True, ignore_errors=True, strict_mode=False
            ).create(f"t{number}")


def line(what: str, ours: float, reference: str, theirs: float) -> None:
    ratio = ours / theirs
    print(f"{what:<34}{ours:>9.3f} s   {reference:<38}{theirs:>9.3f} s   x {ratio:.3f}")


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--units", type=int, default=N_UNITS)
    arguments.add_argument("--repairs", type=int, nargs="*", default=N_REPAIRS)
    arguments.add_argument("--lives", type=int, nargs="*", default=N_LIVES)
    chosen = arguments.parse_args()
    measure_watch()
    measure_suggestions()
    measure(chosen.repairs)
    measure_lives(chosen.lives)
    n_units = chosen.units
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        start = time.perf_counter()
        made = write_fleet(folder / "files", n_units=n_units, seed=1)
        print(f"{'write the fleet':<34}{time.perf_counter() - start:>9.3f} s")
        store, shown = folder / "store.duckdb", folder / "published"
        csv_files = [made.units, made.readings]
        took = seconds(lambda: ingest_paths(store, csv_files), repeats=1)
        loads = seconds(lambda: bare_load(csv_files))
        line("ingest units.csv, readings.csv", took, "bare DuckDB load as text", loads)
        took = seconds(lambda: ingest_paths(store, [made.repairs]), repeats=1)
        print(f"{'ingest repairs.xlsx':<34}{took:>9.3f} s")
        took = seconds(lambda: publish(store, shown), repeats=1)
        line("publish, with training", took, "bare DuckDB load as text", loads)
        snapshot = current_snapshot(shown)
        file = shown / f"{snapshot.about.snapshot}.duckdb"
        reference = lifelines_seconds(file)
        took = seconds(lambda: life(snapshot, Filters()))
        line(
            "time to failure, whole answer",
            took,
            "lifelines Weibull, a row a unit",
            reference,
        )
        took = seconds(lambda: modes(snapshot, Filters()))
        line(
            "failure modes, whole answer",
            took,
            "lifelines Weibull, a row a unit",
            reference,
        )
        size = file.stat().st_size / 1e6
        print(f"{'snapshot':<34}{size:>9.1f} MB for {snapshot.about.n_units} units")


if __name__ == "__main__":
    main()
