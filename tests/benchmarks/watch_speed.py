"""The recurring-failure watch: seconds, against plain NumPy sums in the same run.

The arrays are fleets in which nothing changes, half of the strata starting later. The
reference is one pass of running sums over the failures and the expected failures (two
`numpy.cumsum`), which any watch of windows needs at least. Seconds are those of the
processor: one core does all of it. Memory is the peak of a process of its own, drawing
of the fleet included.
"""

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from analytics.statistics.quiet_fleet import fit_quiet_fleet
from analytics.statistics.watch_evidence import watch
from analytics.statistics.watch_families import calibrate_families
from analytics.statistics.watch_threshold import calibrate
from tests.truth.watch_fleets import PLANS, SCENARIOS, WatchPlan, draw_quiet
from tests.truth.watch_overlap import OverlapPlan, draw_overlapping, families

N_LOOKS = 156
N_STRATA, N_FITTED = 100_000, 5_000
PER_YEAR = 4.0
REPEATS = 3


def measure_watch() -> None:
    """Print seconds and ratios of the watch, its fit and its calibrations."""
    for name in TASKS:
        # Each in a process of its own, for its peak of memory.
        words = [sys.executable, "-m", "tests.benchmarks.watch_speed", name]
        done = subprocess.run(words, check=True, capture_output=True, text=True)
        print(done.stdout, end="")


def _fleet(n_strata: int, smallest: float, largest: float) -> tuple[np.ndarray, ...]:
    plan = WatchPlan(n_strata, N_LOOKS, smallest, largest, PER_YEAR)
    drawn = draw_quiet(plan, np.random.default_rng(1))
    return drawn.n_failures.astype(np.float32), drawn.exposure.astype(np.float32)


def _watched(smallest: float, largest: float) -> None:
    n_failures, n_expected = _fleet(N_STRATA, smallest, largest)
    fit = fit_quiet_fleet(n_failures, n_expected)
    # No calibration of as many strata is wanted here: a threshold that leaves alarms.
    threshold = np.full(N_LOOKS, 10.0)
    found = watch(n_failures, n_expected, fit, threshold)
    ours = _seconds(lambda: watch(n_failures, n_expected, fit, threshold))
    what = f"watch, {N_STRATA} x {N_LOOKS}, {smallest:g} to {largest:g} a look"
    _line(f"{what}, {len(found.look)} alarms", ours, _sums(n_failures, n_expected))


def _fitted() -> None:
    plan = PLANS["5000 x 156"]
    n_failures, n_expected = _fleet(N_FITTED, plan.smallest, plan.largest)
    theirs = _sums(n_failures, n_expected)
    fit = fit_quiet_fleet(n_failures, n_expected)
    ours = _seconds(lambda: fit_quiet_fleet(n_failures, n_expected))
    _line(f"fit, {N_FITTED} x {N_LOOKS}", ours, theirs)
    ours = _seconds(
        lambda: calibrate(
            n_expected,
            fit,
            per_year=PER_YEAR,
            rng=np.random.default_rng(1),
        ),
        repeats=1,
    )
    _line(f"calibration, {N_FITTED} x {N_LOOKS}", ours, theirs)


def _families() -> None:
    scattered = SCENARIOS["e"]
    plan = OverlapPlan(
        level_cv=scattered["level_cv"],
        dispersion=scattered["dispersion"],
        shock_cv=scattered["shock_cv"],
    )
    fleet = draw_overlapping(plan, np.random.default_rng(1))
    ours = _seconds(
        lambda: calibrate_families(
            fleet,
            families(),
            per_year=2.0,
            rng=np.random.default_rng(1),
            n_draws=plan.n_draws,
        ),
        repeats=1,
    )
    cells = np.zeros((fleet.n_looks, len(fleet.kind) // fleet.n_looks * fleet.n_modes))
    what = f"five families at once, {cells.size} cells, {plan.n_draws} draws"
    _line(what, ours, _sums(cells, cells))


TASKS: dict[str, Callable[[], None]] = {
    "wide": lambda: _watched(0.02, 20),
    "thin": lambda: _watched(0.002, 1),
    "fit": _fitted,
    "families": _families,
}


def _sums(n_failures: np.ndarray, n_expected: np.ndarray) -> float:
    def both() -> None:
        np.cumsum(n_failures, axis=0)
        np.cumsum(n_expected, axis=0)

    return _seconds(both)


def _seconds(task: Callable[[], object], repeats: int = REPEATS) -> float:
    times = []
    for _ in range(repeats):
        start = time.process_time()
        task()
        times.append(time.process_time() - start)
    return min(times)


def _line(what: str, ours: float, theirs: float) -> None:
    reference = "two running sums"
    print(
        f"{what:<58}{ours:>8.3f} s   {reference:<18}{theirs:>8.3f} s   "
        f"x {ours / theirs:>6.1f}   peak {_peak_mb():>5.0f} MB"
    )


def _peak_mb() -> float:
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    (row,) = (row for row in status.splitlines() if row.startswith("VmHWM"))
    return int(row.split()[1]) / 1024


if __name__ == "__main__":
    TASKS[sys.argv[1]]() if len(sys.argv) > 1 else measure_watch()
