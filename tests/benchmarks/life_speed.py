"""Time to failure for fleets up to ten million units: publish, snapshot, answers.

The store holds the invented fleet over and over (filled_store.py); one unit in eight
has a case. Two bare tables of the same units, in their order, are compared: the narrow
one holds serial, model, lot, in-service day, entry age, end age and mode; the wide one
also what the filters ask of a unit (revision, firmware, supplier, site, region,
environment, duty, connector).
lifelines gets the same lives as arrays, a row a unit, already in memory.
"""

import math
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path

import duckdb
import lifelines

from analytics.rollup.publish import publish
from analytics.rollup.snapshot import Snapshot, current_snapshot
from dashboard.filters import Filters
from dashboard.queries.life import life
from dashboard.queries.life_ages import b_lives
from dashboard.queries.life_curve import curve_and_band
from dashboard.queries.life_laws import stated
from dashboard.queries.life_left_out import counts_under
from dashboard.queries.life_lives import fit_of, lives_under, parameters
from dashboard.queries.modes import modes
from dashboard.queries.quality import quality
from tests.benchmarks.filled_store import fill

MOST_FOR_LIFELINES = 1_000_000
REPEATS = 3
GROUPS = ["Brindlow 32", "Quellin 22"]
OF_LIVES = ("life_ends", "life_working", "life_entries", "life_groups")
OF_GROUPS = ("life_ends_by_group", "life_entries_by_group")
OF_UNITS = ("life_units",)
OF_CASES = ("life_cases",)
NARROW = "units.serial, units.model, units.production_lot, units.in_service_day"
WIDE = (
    f"{NARROW}, units.hardware_revision, units.firmware_version, units.cable_supplier, "
    "units.site, units.region, units.environment, units.duty, units.connector"
)
BARE = """
CREATE TABLE bare.bare AS
SELECT {columns}, lives.entry_age, lives.end_age, lives.mode
FROM units LEFT JOIN lives ON units.unit_no = lives.unit_no
ORDER BY units.unit_no
"""
ARRAYS = """
SELECT greatest(end_age, 1) AS age, mode IS NOT NULL AS failed, entry_age FROM lives
WHERE greatest(end_age, 1) > entry_age
"""


def measure_lives(sizes: Sequence[int]) -> None:
    """Print one block of lines for each size, and how the answer's time grows."""
    took = {n: _measured(n) for n in sizes}
    if len(took) > 1:
        first, last = min(took), max(took)
        grown = math.log(took[last] / took[first]) / math.log(last / first)
        print(f"growth exponent of the life answer, {first} to {last}: {grown:.3f}")


def _measured(n_units: int) -> float:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fill(folder / "store.duckdb", n_units=n_units)
        seconds, peak = _published_apart(folder)
        snapshot = current_snapshot(folder / "published")
        about = snapshot.about
        file = folder / "published" / f"{about.snapshot}.duckdb"
        print(f"{about.n_units} units, {about.n_cases} cases")
        print(f"  publish, training included: {seconds:.1f} s, peak {peak:.0f} MB")
        size = file.stat().st_size / 1e6
        for kind, columns in (("narrow", NARROW), ("wide", WIDE)):
            bare = _bare_size(file, folder / f"{kind}.duckdb", columns)
            print(
                f"  snapshot {size:.1f} MB, {kind} bare table {bare:.1f} MB, "
                f"x {size / bare:.2f}"
            )
        _print_questions(snapshot)
        return _print_answers(snapshot, file)


def _published_apart(folder: Path) -> tuple[float, float]:
    # Memory is that of a process of its own.
    words = [sys.executable, "-m", "tests.benchmarks.life_speed", str(folder)]
    done = subprocess.run(words, check=True, capture_output=True, text=True)
    seconds, peak = done.stdout.split()
    return float(seconds), float(peak)


def _bare_size(snapshot: Path, file: Path, columns: str) -> float:
    with duckdb.connect() as connection:
        connection.execute(f"ATTACH '{snapshot}' AS snapshot (READ_ONLY)")
        connection.execute(f"ATTACH '{file}' AS bare")
        connection.execute("USE snapshot")
        connection.execute(BARE.format(columns=columns))
    return file.stat().st_size / 1e6


def _print_questions(snapshot: Snapshot) -> None:
    asked = parameters(Filters()) | {
        "observation_end": snapshot.about.observation_end,
        "groups": GROUPS,
    }
    of_model = asked | {"by": "model"}
    times = {
        **{q: _asked(snapshot, q, asked, "chosen_lives") for q in OF_LIVES},
        **{q: _asked(snapshot, q, of_model, "chosen_lives") for q in OF_GROUPS},
        **{q: _asked(snapshot, q, asked, "chosen_units") for q in OF_UNITS},
        **{q: _asked(snapshot, q, asked) for q in OF_CASES},
    }
    for question, seconds in times.items():
        print(f"  {question}: {seconds:.3f} s")
    print(f"  slowest life question: {max(times.values()):.3f} s")


def _asked(
    snapshot: Snapshot,
    question: str,
    values: dict[str, object],
    chosen: str | None = None,
) -> float:
    return _seconds(lambda: snapshot.ask(question, values, chosen=chosen))


def _print_answers(snapshot: Snapshot, file: Path) -> float:
    lives = lives_under(snapshot, Filters())
    fit = _seconds(lambda: fit_of(lives, "weibull"), repeats=20)
    print(f"  Weibull fit from counts: {fit * 1e3:.2f} ms")
    short = _seconds(lambda: _curve_and_fit(snapshot))
    print(f"  curve, band, Weibull fit, ages, what is left out: {short:.3f} s")
    whole = _seconds(lambda: life(snapshot, Filters()))
    print(f"  time to failure, whole answer, reading included: {whole:.3f} s")
    print(f"  failure modes: {_seconds(lambda: modes(snapshot, Filters())):.3f} s")
    print(f"  data quality: {_seconds(lambda: quality(snapshot, Filters())):.3f} s")
    if snapshot.about.n_units <= MOST_FOR_LIFELINES:
        theirs = lifelines_seconds(file)
        print(
            f"  lifelines Weibull, a row a unit: {theirs:.2f} s, "
            f"x {theirs / short:.0f} of curve and fit, "
            f"x {theirs / whole:.0f} of the whole answer"
        )
    return whole


def _curve_and_fit(snapshot: Snapshot) -> None:
    # What stands beside one law; the whole answer adds two laws, modes and rates.
    lives = lives_under(snapshot, Filters())
    curve_and_band(lives)
    fit = fit_of(lives, "weibull")
    stated(fit, lives)
    b_lives(fit, largest_age=lives.largest_age)
    counts_under(snapshot, Filters())


def lifelines_seconds(file: Path) -> float:
    """Return how long lifelines fits a Weibull law to the lives of a snapshot."""
    with duckdb.connect(str(file), read_only=True) as connection:
        arrays = connection.execute(ARRAYS).fetchnumpy()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return _seconds(
            lambda: lifelines.WeibullFitter().fit(
                arrays["age"], arrays["failed"], entry=arrays["entry_age"]
            ),
            repeats=1,
        )


def _seconds(task: Callable[[], object], repeats: int = REPEATS) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Publish the store of a folder; print the seconds and the peak of memory, MB."""
    folder = Path(sys.argv[1])
    start = time.perf_counter()
    publish(folder / "store.duckdb", folder / "published")
    took = time.perf_counter() - start
    print(took, _peak_mb())


def _peak_mb() -> float:
    # getrusage would count what the parent held when it started this process.
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    (line,) = (row for row in status.splitlines() if row.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


if __name__ == "__main__":
    main()
