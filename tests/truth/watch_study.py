"""How many false alarms the watch raises, and how soon it tells of a true change.

    python -m tests.truth watch [--cores 2] [--grid] [--csv FILE]

False alarms are given as realised over stated, for fleets in which nothing changes:
a  chance alone (Poisson)
b  levels of the strata differ (coefficient of variation 0.3)
c1 failures come in clusters (variance 1.5 times the mean)
c2 looks have shocks in common (coefficient of variation 0.2)
d  all of these
e  as d, expected numbers estimated from the same fleet
Own shocks: each stratum has shocks of its own at each look, of variance 0.25 (with b)
or 0.1 (with d). Drift: each level wanders, by 3 % a look.
"""

import csv
import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from tests.truth import watch_detection, watch_late, watch_overlap, watch_rates
from tests.truth.study import Line, Scene, Study
from tests.truth.watch_rates import RATIO

COMMAND = "python -m tests.truth watch"
HEADER = ("scene", "words", "ratio", "standard_error", "fleets", "command")
SIZES = {
    "8 x 24": "8 groups, two years, one pass",
    "50 x 24": "50 groups, two years, one pass",
    "50 x 24 thin": "50 groups that seldom fail, two years, one pass",
    "500 x 60": "500 groups, five years, one pass",
    "500 x 60 thin": "500 groups that seldom fail, five years, one pass",
    "5000 x 156": "5 000 groups, thirteen years, one pass",
    "look by look": "100 groups, second and third year, anew each month",
    "late reports": "150 groups, confirmed 25 days late on average, two years",
    "five families": "five overlapping families, 658 groups, five years",
}
SCENARIOS = {
    "a": "chance alone",
    "b": "levels differ",
    "c1": "failures in clusters",
    "c2": "shocks in common",
    "d": "levels, clusters and shocks",
    "e": "levels, clusters and shocks, expected numbers estimated",
    "b, own shocks": "levels, and shocks of single groups",
    "d, own shocks": "levels, clusters, shocks in common and of single groups",
    "b, drift": "levels differ and wander by 3 % a month",
    "d, drift": "as d, and levels wander by 3 % a month",
    "each month": "published each month",
    "each week": "published each week",
}


@cache
def scenes() -> Sequence[Scene]:
    return (
        *watch_rates.scenes(),
        *watch_late.scenes(),
        *watch_overlap.scenes(),
        *watch_detection.scenes(),
    )


def words_of(scene: str) -> str:
    size, scenario = scene.split(", ", 1)
    return f"{SIZES[size]}: {SCENARIOS[scenario]}"


def write_csv(lines: Sequence[Line], file: Path) -> None:
    """Write the ratios of false alarms, a row a scene, for the page that shows them."""
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(HEADER)
        for line in lines:
            if line.method == RATIO:
                ratio, error = f"{line.mean:.3f}", f"{line.standard_error:.3f}"
                words = words_of(line.scene)
                writer.writerow(
                    (line.scene, words, ratio, error, line.n_fleets, COMMAND)
                )


def grids(lines: Sequence[Line]) -> str:
    """Return the lines as Markdown: ratios by size and scenario, then detection."""
    found = {(x.scene, x.method): x for x in lines}
    return "\n\n".join(
        part for part in (_ratios(found), _others(found), _detection(found)) if part
    )


def _ratios(found: dict[tuple[str, str], Line]) -> str:
    cells = {
        tuple(scene.split(", ", 1)): line
        for (scene, method), line in found.items()
        if method == RATIO
    }
    used = [name for name in SCENARIOS if any(name == s for _, s in cells)]
    rows = [f"| realised / stated (± se) | {' | '.join(used)} |"]
    rows += ["|---|" + "--:|" * len(used)]
    for size in SIZES:
        if not any(size == s for s, _ in cells):
            continue
        shown = [_ratio(cells.get((size, scenario))) for scenario in used]
        rows.append(f"| {size} | {' | '.join(shown)} |")
    return "\n".join(rows) if used else ""


def _others(found: dict[tuple[str, str], Line]) -> str:
    rows = [
        f"| {scene} | {method} | {_ratio(line)} |"
        for (scene, method), line in found.items()
        if method != RATIO and line.family != "detection"
    ]
    return "\n".join(["| scene | what | mean (± se) |", "|---|---|--:|", *rows])


def _ratio(line: Line | None) -> str:
    if line is None or not line.n_answered:
        return ""
    text = f"{line.mean:.2f} ±{line.standard_error:.2f}"
    return f"**{text}**" if line.verdict == "MISSES" else text


def _detection(found: dict[tuple[str, str], Line]) -> str:
    """Return median looks to the alarm, and shares found within 6 and 12 looks."""
    kinds = watch_detection.KINDS
    names = [f"{times} x, {rate:g} a look" for times, rate in kinds]
    rows = [f"| median looks, % within 6, within 12 | {' | '.join(names)} |"]
    rows += ["|---|" + "--:|" * len(names)]
    for scene in dict.fromkeys(scene for scene, _ in found):
        cells = []
        for times, rate in kinds:
            shares = [
                found.get((scene, watch_detection.found_within(times, rate, looks)))
                for looks in range(1, watch_detection.HORIZON + 1)
            ]
            if None in shares:
                break
            means = [line.mean for line in shares if line is not None]
            median = next((n for n, x in enumerate(means, 1) if x >= 1 / 2), math.inf)
            shown = "-" if median == math.inf else str(median)
            cells.append(f"{shown}, {100 * means[5]:.0f}, {100 * means[11]:.0f}")
        if cells:
            rows.append(f"| {scene} | {' | '.join(cells)} |")
    return "\n".join(rows) if len(rows) > 2 else ""


STUDY = Study(
    "watch", "false alarms of the watch against the number stated", scenes, grids
)
