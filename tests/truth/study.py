"""What a study is, how it is run on several cores, and how its table is judged.

A study draws fleets from known laws, scene by scene. Each fleet yields one number per
method: 1 where an interval held the truth and 0 where not, 1 where a test rejected, or
an error of an estimate. A method that cannot answer for a fleet yields nan; those
fleets are counted apart and leave the mean.

Fleets are drawn in blocks of a hundred, each with a seed of its own, so that the first
two hundred fleets of a scene are the same on any number of cores and in any length.
"""

import math
import os
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

import numpy as np
from scipy import stats
from threadpoolctl import threadpool_limits

BLOCK = 100
UNLIKELY = 1e-5  # per bound; some 300 promises are looked at
ANSWERED = 0.99  # a promise is one for nearly all fleets

Values = dict[str, float]
Task = tuple["Study", str, np.random.SeedSequence, int]


@dataclass(frozen=True, slots=True)
class Promise:
    """The mean must lie from low to high, widened by so many standard errors."""

    low: float
    high: float
    is_rate: bool = True  # of noughts and ones
    margin: float = 2.0  # standard errors


COVERS = Promise(0.94, 0.96)
COVERS_AT_LEAST = Promise(0.94, 1.0)  # exact limits of a discrete count
REJECTS = Promise(0.04, 0.06)
UNBIASED = Promise(-0.01, 0.01, is_rate=False)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one fleet gave: its failures, and a number per method."""

    n_failed: int
    values: Values


@dataclass(frozen=True, slots=True)
class Scene:
    """Fleets of one kind; `promised` says what theory promises of which methods."""

    name: str
    family: str  # scenes of one family share a grid
    fleet: Callable[[np.random.Generator], Outcome]
    promised: Mapping[str, Promise] = field(default_factory=dict)
    most_fleets: int | None = None  # where a fleet takes long

    def n_fleets(self, wanted: int) -> int:
        return min(wanted, self.most_fleets or wanted)


@dataclass(frozen=True, slots=True)
class Study:
    name: str
    about: str
    scenes: Callable[[], Sequence[Scene]]
    # Its own tables as Markdown; left out: `grids`.
    tables: "Callable[[Sequence[Line]], str] | None" = None


@dataclass(frozen=True, slots=True)
class Line:
    """One method in one scene."""

    method: str
    scene: str
    family: str
    failures: float  # mean of a fleet
    n_fleets: int
    n_answered: int
    mean: float
    standard_error: float
    promise: Promise | None

    @property
    def verdict(self) -> str:
        if self.promise is None:
            return "stated"
        enough = self.n_answered >= ANSWERED * self.n_fleets
        margin = self.promise.margin * self.standard_error
        low, high = self.promise.low - margin, self.promise.high + margin
        return "holds" if enough and low <= self.mean <= high else "MISSES"

    @property
    def is_possible(self) -> bool:
        """Whether a count like this is not too unlikely under the promise.

        The count is held against the points of the binomial laws with the two ends of
        the promise that one sample in 100 000 passes. The mean of an error is held
        within four standard errors of the promise.
        """
        if not self.promise.is_rate:
            reach = 4 * self.standard_error
            return self.promise.low - reach <= self.mean <= self.promise.high + reach
        n, count = self.n_answered, round(self.mean * self.n_answered)
        fewest = stats.binom.ppf(UNLIKELY, n, self.promise.low)
        most = stats.binom.ppf(1 - UNLIKELY, n, self.promise.high)
        return bool(fewest <= count <= most and n >= ANSWERED * self.n_fleets)


@dataclass(slots=True)
class Tally:
    """Running sums of a scene."""

    n_fleets: int = 0
    n_failed: int = 0
    n: Counter[str] = field(default_factory=Counter)
    total: Counter[str] = field(default_factory=Counter)
    squares: Counter[str] = field(default_factory=Counter)

    def add(self, outcome: Outcome) -> None:
        self.n_fleets += 1
        self.n_failed += outcome.n_failed
        for method, value in outcome.values.items():
            is_answer = not math.isnan(value)
            self.n[method] += is_answer
            self.total[method] += value if is_answer else 0
            self.squares[method] += value**2 if is_answer else 0

    def merge(self, other: "Tally") -> None:
        self.n_fleets += other.n_fleets
        self.n_failed += other.n_failed
        # Counter.update adds, and keeps zeros and negatives.
        self.n.update(other.n)
        self.total.update(other.total)
        self.squares.update(other.squares)

    def lines(self, scene: Scene) -> Iterator[Line]:
        for method, n in self.n.items():
            mean = self.total[method] / n if n else math.nan
            spread = self.squares[method] / n - mean**2 if n else math.nan
            yield Line(
                method=method,
                scene=scene.name,
                family=scene.family,
                failures=self.n_failed / self.n_fleets,
                n_fleets=self.n_fleets,
                n_answered=n,
                mean=mean,
                standard_error=math.sqrt(max(spread, 0) / n) if n else math.nan,
                promise=scene.promised.get(method),
            )


def run(
    study: Study,
    *,
    fleets: int,
    seed: int,
    cores: int | None = None,
    only: Sequence[str] | None = None,
    say: Callable[[str], object] | None = None,
) -> list[Line]:
    """Return the lines of all scenes, or of those named, in the order of the study.

    On one core everything runs in this process; `cores` left out takes all there are.
    `say` is told of each scene that is done.
    """
    scenes = [s for s in study.scenes() if only is None or s.name in only]
    wanted = {scene.name: scene.n_fleets(fleets) for scene in scenes}
    tasks = [
        (study, name, block_seed, min(BLOCK, n - BLOCK * i))
        for name, n in wanted.items()
        for i, block_seed in enumerate(_seeds(name, n, seed))
    ]
    tallies = {scene.name: Tally() for scene in scenes}
    for (_, name, _, _), tally in zip(tasks, _done(tasks, cores), strict=True):
        tallies[name].merge(tally)
        is_done = tallies[name].n_fleets == wanted[name]
        if say is not None and is_done:
            say(f"{name}: {wanted[name]} fleets")
    return [line for scene in scenes for line in tallies[scene.name].lines(scene)]


def _done(tasks: Sequence[Task], cores: int | None) -> Iterator[Tally]:
    cores = cores or os.cpu_count() or 1
    # Matrices are small here: threads of their own would only get in each other's way.
    if cores == 1:
        with threadpool_limits(1):
            yield from (_run_block(*task) for task in tasks)
        return
    with ProcessPoolExecutor(
        cores, initializer=threadpool_limits, initargs=(1,)
    ) as pool:
        yield from pool.map(_run_block, *zip(*tasks, strict=True))


def _seeds(scene: str, n_fleets: int, seed: int) -> list[np.random.SeedSequence]:
    # The name is part of the seed: a scene more leaves the others as they are.
    root = np.random.SeedSequence([seed, zlib.crc32(scene.encode())])
    return root.spawn(math.ceil(n_fleets / BLOCK))


def _run_block(
    study: Study, scene_name: str, seed: np.random.SeedSequence, n_fleets: int
) -> Tally:
    scene = next(s for s in study.scenes() if s.name == scene_name)
    rng = np.random.default_rng(seed)
    tally = Tally()
    for number in range(n_fleets):
        try:
            tally.add(scene.fleet(rng))
        except Exception as error:
            error.add_note(f"scene {scene_name!r}, {seed}, fleet {number} of its block")
            raise
    return tally


def table(lines: Sequence[Line]) -> str:
    """Return the lines as text, one a method and scene."""
    wide, widest = (max(len(getattr(x, n)) for x in lines) for n in ("method", "scene"))
    head = f"{'method':<{wide}}  {'scene':<{widest}}  failures  fleets  answered"
    rows = [f"{head}       %    se  promised   verdict"]
    for x in lines:
        promise = "none"
        if x.promise is not None:
            promise = f"{100 * x.promise.low:g} to {100 * x.promise.high:g}"
        rows.append(
            f"{x.method:<{wide}}  {x.scene:<{widest}}  {x.failures:>8.1f}  "
            f"{x.n_fleets:>6}  {100 * x.n_answered / x.n_fleets:>7.1f}%  "
            f"{100 * x.mean:>6.2f}  {100 * x.standard_error:>4.2f}  "
            f"{promise:<9}  {x.verdict}"
        )
    return "\n".join(rows)


def grids(lines: Sequence[Line]) -> str:
    """Return the lines as Markdown: methods down, scenes across, a table a family.

    In bold what theory promises; in brackets the share of fleets with an answer, where
    that is under 99 %.
    """
    parts = []
    for family in dict.fromkeys(x.family for x in lines):
        found = {(x.method, x.scene): x for x in lines if x.family == family}
        methods, scenes = (list(dict.fromkeys(key)) for key in zip(*found, strict=True))
        parts += [f"| {family}, % | " + " | ".join(scenes) + " |"]
        parts += ["|---|" + "--:|" * len(scenes)]
        for method in methods:
            cells = [_cell(found.get((method, scene))) for scene in scenes]
            parts.append(f"| {method} | " + " | ".join(cells) + " |")
        parts.append("")
    return "\n".join(parts)


def _cell(line: Line | None) -> str:
    if line is None or not line.n_answered:
        return ""
    shown = f"{100 * line.mean:.1f}"
    if line.promise is not None:
        return f"**{shown}**"
    share = line.n_answered / line.n_fleets
    return shown if share >= ANSWERED else f"{shown} ({100 * share:.0f})"
