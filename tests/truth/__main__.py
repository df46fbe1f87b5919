"""Studies of how often intervals hold the truth, over many drawn fleets.

    python -m tests.truth                        # lists the studies
    python -m tests.truth coverage [--fleets 10000] [--seed 1] [--cores 2] [--grid]
    python -m tests.truth coverage --scene "200 failures" --scene "registered late"
    python -m tests.truth watch [--grid] [--csv FILE]
    python -m tests.truth planted
    python -m tests.truth suggest [--grid] [--scene "2 000 cases"]
    python -m tests.truth minutes [--grid]

Verdicts: holds (the mean lies within what is promised, widened by two standard errors
where nothing else is said), MISSES, and stated (nothing is promised: this is what was
found). Scenes that take long have a number of fleets of their own. The exit code is 1
where something misses.
"""

import argparse
import sys
import time
from pathlib import Path

from tests.truth import (
    coverage,
    minutes_study,
    suggest_study,
    watch_planted,
    watch_study,
)
from tests.truth.study import grids, run, table

STUDIES = {
    study.name: study
    for study in (
        coverage.STUDY,
        watch_study.STUDY,
        watch_planted.STUDY,
        suggest_study.STUDY,
        minutes_study.STUDY,
    )
}
N_FLEETS = 10_000


def main() -> int:
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("study", nargs="?", choices=sorted(STUDIES))
    arguments.add_argument("--fleets", type=int, default=N_FLEETS)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--cores", type=int)
    arguments.add_argument("--scene", action="append", help="only this scene")
    arguments.add_argument("--grid", action="store_true", help="as Markdown")
    arguments.add_argument("--csv", type=Path, help="false alarms of the watch, a file")
    chosen = arguments.parse_args()
    if chosen.study is None:
        for study in STUDIES.values():
            print(f"{study.name}: {study.about}")
            for scene in study.scenes():
                print(f"    {scene.name}")
        return 0
    study = STUDIES[chosen.study]
    unknown = set(chosen.scene or ()) - {scene.name for scene in study.scenes()}
    if unknown:
        arguments.error(f"{study.name} has no scene {', '.join(sorted(unknown))}")
    start = time.perf_counter()
    lines = run(
        study,
        fleets=chosen.fleets,
        seed=chosen.seed,
        cores=chosen.cores,
        only=chosen.scene,
        say=lambda text: print(text, file=sys.stderr),
    )
    print(table(lines))
    if chosen.grid:
        print(f"\n{(study.tables or grids)(lines)}")
    if chosen.csv is not None:
        watch_study.write_csv(lines, chosen.csv)
    n_missed = sum(line.verdict == "MISSES" for line in lines)
    took = time.perf_counter() - start
    print(f"\n{len(lines)} lines, {n_missed} missed, {took:.0f} s, seed {chosen.seed}")
    return int(n_missed > 0)


if __name__ == "__main__":
    sys.exit(main())
