"""How good the fault suggestions are, beside Bayes' rule and beside class shares.

    python -m tests.truth suggest [--grid] [--scene "2 000 cases"]

What its parts are worth is in `suggest_parts.py`, and its scenes come with these.

Each draw is an invented fleet; the suggester is trained on the cases confirmed before
the newest 4 000 came in, and suggests those. Bars, set before: no further from Bayes'
rule than the method was when it was chosen, on another simulation (32.2, 14.5 and 3.2
points of top-1 at 200, 2 000 and 100 000 cases; 1.88, 0.73, 0.25, 0.14 in log loss at
these and at 20 000), and 4 points at 20 000; calibration error at most 0.04 at 2 000
cases and 0.03 from 20 000 on; abstaining leaves fewer errors. At the other sizes the
calibration is told, and nothing promised but better than class shares.
"""

from collections.abc import Sequence
from functools import cache, partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.advice.evaluation import (
    MIN_EVIDENCE_BITS,
    MIN_TOP_PROBABILITY,
    evidence_bits,
)
from analytics.advice.evaluation_curves import calibration_error
from analytics.advice.evaluation_scores import log_loss, top_k_accuracy
from analytics.advice.suggest import FaultSuggester
from synthetic_data.scenario import mode_laws
from tests.truth import suggest_parts
from tests.truth.study import Line, Outcome, Promise, Scene, Study
from tests.truth.suggest_fleet import draw_returns, trained

FAMILY = "suggestions"
N_TEST = 4_000
# Labels come up to two months late: cases that may be needed beside those asked for.
STILL_OPEN = 0.25
MORE_OPEN = 400

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TOP_1, TOP_3, LOSS, ERROR = "top-1", "top-3", "log loss", "calibration error"
BELOW, LOSS_OVER = "top-1 below Bayes", "log loss over Bayes"
ANSWERED, RIGHT_ANSWERED = "answered", "right of those answered"
SAVED, SILENT = "abstaining saves", "right of those kept silent"
BAYES, SHARES = "Bayes", "class shares"
OVER_SHARES = "top-1 over class shares"
# Number of cases: draws, furthest from Bayes in top-1 and log loss, calibration error.
SIZES: dict[int, tuple[int, float | None, float | None, float | None]] = {
    199: (8, None, None, None),
    200: (8, 0.322, 1.88, None),
    300: (8, None, None, None),
    400: (8, None, None, None),
    1_000: (8, None, None, None),
    2_000: (8, 0.145, 0.73, 0.04),
    20_000: (4, 0.04, 0.25, 0.03),
    100_000: (1, 0.032, 0.14, 0.03),
}


def name_of(n_cases: int) -> str:
    return f"{n_cases:,} cases".replace(",", " ")


@cache
def scenes() -> Sequence[Scene]:
    return [
        Scene(
            name=name_of(n),
            family=FAMILY,
            fleet=partial(suggested, n),
            promised=_promised(below, loss, error),
            most_fleets=draws,
        )
        for n, (draws, below, loss, error) in SIZES.items()
    ] + list(suggest_parts.scenes())


def _promised(
    below: float | None, loss: float | None, error: float | None
) -> dict[str, Promise]:
    highest = {BELOW: below, LOSS_OVER: loss, ERROR: error}
    # Better than Bayes can only be chance.
    promised = {
        what: Promise(0.0, high, is_rate=False)
        for what, high in highest.items()
        if high is not None
    }
    promised[SAVED] = Promise(0.0, 1.0, is_rate=False)
    promised[OVER_SHARES] = Promise(0.0, 1.0, is_rate=False)
    return promised


def suggested(n_cases: int, rng: np.random.Generator) -> Outcome:
    """Train on so many cases of a fleet, and suggest the newest 4 000."""
    return scored(n_cases, rng, n_test=N_TEST)


def scored(n_cases: int, rng: np.random.Generator, *, n_test: int) -> Outcome:
    n_more = int(STILL_OPEN * n_cases) + MORE_OPEN
    returns = draw_returns(n_cases + n_more + n_test, rng)
    test = np.arange(len(returns) - n_test, len(returns))
    known = returns.confirmed_before(int(test[0]))[-n_cases:]
    if len(known) < n_cases:
        raise ValueError(f"only {len(known)} cases were confirmed, not {n_cases}")
    suggester = trained(returns.take(known))
    p = suggester.probabilities(returns.cases.iloc[test])
    column = {cause: i for i, cause in enumerate(p.columns)}
    truth = np.array([column[cause] for cause in returns.take(test).cause])
    best, mode = returns.bayes(test), returns.mode[test]
    values = _of_suggester(p.to_numpy(), truth, suggester)
    values |= _scores(best, mode, f"{BAYES}, ")
    values |= _scores(_shares(returns.mode[known], n_test), mode, f"{SHARES}, ")
    values[BELOW] = values[f"{BAYES}, {TOP_1}"] - values[TOP_1]
    values[LOSS_OVER] = values[LOSS] - values[f"{BAYES}, {LOSS}"]
    values[OVER_SHARES] = values[TOP_1] - values[f"{SHARES}, {TOP_1}"]
    return Outcome(n_cases, values)


def _shares(mode: Integers, n: int) -> Floats:
    count = np.bincount(mode, minlength=len(mode_laws())) + 1.0
    return np.tile(count / count.sum(), (n, 1))


def _scores(p: Floats, truth: Integers, who: str = "") -> dict[str, float]:
    return {
        f"{who}{TOP_1}": top_k_accuracy(p, truth, k=1),
        f"{who}{TOP_3}": top_k_accuracy(p, truth, k=3),
        f"{who}{LOSS}": log_loss(p, truth),
        f"{who}{ERROR}": calibration_error(p.max(axis=1), p.argmax(axis=1) == truth),
    }


def _of_suggester(
    p: Floats, truth: Integers, suggester: FaultSuggester
) -> dict[str, float]:
    right = p.argmax(axis=1) == truth
    # A case of which nothing is known has the prior.
    prior = suggester.probabilities(pd.DataFrame(index=[0])).to_numpy()[0]
    bits = evidence_bits(np.log(p), np.log(prior))
    answers = (p.max(axis=1) >= MIN_TOP_PROBABILITY) & (bits >= MIN_EVIDENCE_BITS)
    found = _scores(p, truth)
    found[ANSWERED] = float(answers.mean())
    found[RIGHT_ANSWERED] = float(right[answers].mean())
    found[SILENT] = float(right[~answers].mean())
    found[SAVED] = found[RIGHT_ANSWERED] - found[TOP_1]
    return found


ROWS = (
    *(f"{SHARES}, {TOP_1}", f"{SHARES}, {LOSS}", f"{BAYES}, {TOP_1}"),
    *(f"{BAYES}, {TOP_3}", f"{BAYES}, {LOSS}", f"{BAYES}, {ERROR}", TOP_1, TOP_3, LOSS),
    *(ERROR, BELOW, LOSS_OVER, ANSWERED, RIGHT_ANSWERED, SILENT),
)


def grids(lines: Sequence[Line]) -> str:
    """Return the lines as Markdown: what down, scenes across; in bold what misses."""
    tables = [
        _grid([line for line in lines if line.family == family], rows)
        for family, rows in ((FAMILY, ROWS), (suggest_parts.FAMILY, suggest_parts.ROWS))
    ]
    return "\n\n".join(table for table in tables if table)


def _grid(lines: Sequence[Line], methods: Sequence[str]) -> str:
    found = {(x.method, x.scene): x for x in lines}
    draws = {x.scene: x.n_fleets for x in lines}
    if not draws:
        return ""
    head = " | ".join(f"{name}, {n} draw{'s' * (n > 1)}" for name, n in draws.items())
    rows = [f"| mean (± se) | {head} |", "|---|" + "--:|" * len(draws)]
    for method in methods:
        cells = [_cell(found[method, name]) for name in draws]
        rows.append(f"| {method} | {' | '.join(cells)} |")
    return "\n".join(rows)


def _cell(line: Line) -> str:
    text = f"{line.mean:.3f}"
    if line.n_answered > 1:
        # The spread of a few draws is that of a sample.
        text += f" ±{line.standard_error * _of_sample(line.n_answered):.3f}"
    return f"**{text}**" if line.verdict == "MISSES" else text


def _of_sample(n: int) -> float:
    return float(np.sqrt(n / (n - 1)))


STUDY = Study("suggest", "fault suggestions beside Bayes' rule", scenes, grids)
