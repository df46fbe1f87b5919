"""Minutes at the bench until the cause is confirmed, by rule of choosing a check.

    python -m tests.truth minutes [--grid]

Each draw is an invented fleet. The suggester learns from the 2 000 newest cases
confirmed before the last year, and 120 failures that came in during that year are put
on the bench, one after the other, under every rule with the same draws. Checks fail as
a table says that differs from the advice's by 0.7 (standard deviation, in log-odds).
Failures that no check finds (the same under every rule) are counted and left out;
returns that are no failure of the unit cost the whole protocol and are not drawn. Bars,
set before: at most 0.41 times the fixed order, 0.87 times the surest check of the
likeliest fault with updating, 1.15 times the same rule fed Bayes' probabilities. How it
does beside someone who also knows which check is the quickest is told.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from synthetic_data import scenario
from synthetic_data.scenario import MAKERS_VALUES, MODELS, day_number, mode_laws
from tests.truth import minutes_bench
from tests.truth.minutes_bench import Bench, Causes, Checks, Unit, checks_of
from tests.truth.study import Line, Outcome, Promise, Scene, Study
from tests.truth.suggest_fleet import Returns, draw_returns
from tests.truth.suggest_study import trained

N_LEARNT, N_RETURNS = 2_000, 5_500
N_CASES, N_DRAWS = 120, 8
HELD_OUT_DAYS = 365
TABLE_IS_WRONG_BY = 0.7

FIXED, TOP, TOP_UPDATED = "fixed order", "top first", "top first, updated"
QUICK = "top first, updated, quickest check"
ADVISED, ORACLE = "advised", "told the cause"
BAYES_TOP, BAYES_ADVISED = "top first, updated, Bayes", "advised, Bayes"
RULES = {
    FIXED: (minutes_bench.fixed_order, False),
    TOP: (minutes_bench.top_first, False),
    TOP_UPDATED: (minutes_bench.top_first_updated, False),
    QUICK: (minutes_bench.top_first_quick, False),
    ADVISED: (minutes_bench.advised, False),
    BAYES_TOP: (minutes_bench.top_first_updated, True),
    BAYES_ADVISED: (minutes_bench.advised, True),
    ORACLE: (minutes_bench.told_the_cause, False),
}
# Minutes of the advised order, at most so many times those of the other.
BARS = {FIXED: 0.41, TOP_UPDATED: 0.87, BAYES_ADVISED: 1.15}
FOUND, OVER = "found by a check", "advised / "


@dataclass(frozen=True, slots=True)
class Year:
    """Returns of a held-out year: unit, cause, what is suggested, and Bayes' rule."""

    units: list[Unit]
    causes: list[str]
    suggested: list[Causes]
    bayes: list[Causes]

    def __len__(self) -> int:
        return len(self.causes)

    def first(self, n: int) -> "Year":
        return Year(self.units[:n], self.causes[:n], self.suggested[:n], self.bayes[:n])


def drawn_year(n_cases: int, rng: np.random.Generator) -> Year:
    """Draw a fleet, train on what was known before its last year, and suggest."""
    returns = draw_returns(N_RETURNS, rng)
    begin = day_number(scenario.LAST_DAY - dt.timedelta(days=HELD_OUT_DAYS))
    first = int(np.searchsorted(returns.events.received, begin, side="right"))
    learnt = returns.confirmed_before(first)[-N_LEARNT:]
    if len(learnt) < N_LEARNT:
        raise ValueError(f"only {len(learnt)} cases before the year, not {N_LEARNT}")
    is_failure = np.array([law.is_failure for law in mode_laws()])[returns.mode]
    last_year = np.flatnonzero(is_failure & (np.arange(len(returns)) >= first))
    rows = rng.choice(last_year, n_cases, replace=False)
    p = trained(returns.take(learnt)).probabilities(returns.cases.iloc[rows])
    names = [law.mode for law in mode_laws()]
    return Year(
        units=[_unit(returns, row) for row in rows.tolist()],
        causes=[names[mode] for mode in returns.mode[rows].tolist()],
        suggested=_by_cause([str(cause) for cause in p], p.to_numpy()),
        bayes=_by_cause(names, returns.bayes(rows)),
    )


def _by_cause(names: list[str], p: NDArray[np.float64]) -> list[Causes]:
    return [dict(zip(names, row, strict=True)) for row in p.tolist()]


def worked(year: Year, rng: np.random.Generator) -> pd.DataFrame:
    """Return the minutes of the returns that some check finds, a column a rule."""
    slips: dict[tuple[str, str], float] = {}
    minutes = []
    for unit, cause, *intakes in zip(
        year.units, year.causes, year.suggested, year.bayes, strict=True
    ):
        checks = checks_of(unit)
        fails = _fails(checks, cause, slips, rng)
        if fails.isdisjoint(checks.confirming(cause)):
            continue
        minutes.append(
            {
                name: _minutes(rule, checks, cause, fails, intakes[knows])
                for name, (rule, knows) in RULES.items()
            }
        )
    return pd.DataFrame(minutes)


def _unit(returns: Returns, row: int) -> Unit:
    model = MODELS[returns.register.model[returns.events.unit[row]]]
    return (
        ("connector", model.connector),
        ("ground_fault_device", model.ground_fault_device),
        ("coil_v", MAKERS_VALUES["coil_v"]),
    )


def _fails(
    checks: Checks,
    cause: str,
    slips: dict[tuple[str, str], float],
    rng: np.random.Generator,
) -> frozenset[str]:
    """Draw which checks fail; how far the advice is wrong is the same for a fleet."""
    column, found = checks.causes.index(cause), []
    for code in checks.at_hand:
        if (code, cause) not in slips:
            slips[code, cause] = TABLE_IS_WRONG_BY * float(rng.standard_normal())
        believed = special.logit(checks.p_fail[code][column])
        if rng.random() < special.expit(believed + slips[code, cause]):
            found.append(code)
    return frozenset(found)


def _minutes(
    rule: minutes_bench.Rule,
    checks: Checks,
    cause: str,
    fails: frozenset[str],
    intake: Causes,
) -> float:
    bench = Bench(checks, cause, fails)
    rule(bench, intake)
    if not bench.confirmed:
        raise ValueError(f"{cause} was not found, and {sorted(fails)} fail")
    return bench.minutes


def compared(n_cases: int, rng: np.random.Generator) -> Outcome:
    minutes = worked(drawn_year(n_cases, rng), rng)
    means = {name: float(minutes[name].mean()) for name in RULES}
    over = {OVER + name: means[ADVISED] / means[name] for name in RULES}
    return Outcome(n_cases, means | over | {FOUND: len(minutes) / n_cases})


@cache
def scenes() -> Sequence[Scene]:
    promised = {
        OVER + name: Promise(0.0, most, is_rate=False) for name, most in BARS.items()
    }
    drawn = partial(compared, N_CASES)
    return [Scene("a year held out", "minutes", drawn, promised, N_DRAWS)]


def grids(lines: Sequence[Line]) -> str:
    """Return the lines as Markdown, a row a rule."""
    found = {line.method: line for line in lines}
    n = found[ADVISED].n_fleets
    rows = [
        f"| rule, {n} draws | minutes (± se) | advised over it (± se) | bar |",
        "|---|--:|--:|--:|",
    ]
    for name in RULES:
        bar = f"{BARS[name]:.2f}" if name in BARS else ""
        cells = (_cell(found[name], 1), _cell(found[OVER + name], 3), bar)
        rows.append(f"| {name} | {' | '.join(cells)} |")
    return "\n".join(rows)


def _cell(line: Line, digits: int) -> str:
    # The spread of a few draws is that of a sample.
    n = line.n_answered
    error = line.standard_error * np.sqrt(n / (n - 1)) if n > 1 else np.nan
    text = f"{line.mean:.{digits}f} ±{error:.{digits}f}"
    return f"**{text}**" if line.verdict == "MISSES" else text


STUDY = Study("minutes", "minutes to the confirmed cause, by rule", scenes, grids)
